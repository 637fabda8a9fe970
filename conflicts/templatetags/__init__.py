"""Tags that show records of the conflicts app; they format and decide nothing."""
