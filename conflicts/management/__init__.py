"""Commands of the conflicts app."""
