"""How the program is set up, started and served.

Empty of imports: config/bootstrap.py lives here and runs before any package is installed.
"""
