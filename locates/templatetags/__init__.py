"""Tags that show records of the locates app; they format and decide nothing."""
