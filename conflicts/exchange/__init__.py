"""A whole job in and out, its bores among it."""
