"""What is done at the desk with bores: one verb a module."""
