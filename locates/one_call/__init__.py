"""Dates and duties from one-call rules: no Django, no clock, no database."""
