"""Forms of the bores."""
