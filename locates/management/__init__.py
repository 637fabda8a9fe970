"""Commands of the locates app."""
