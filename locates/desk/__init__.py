"""One verb of the desk a module."""
