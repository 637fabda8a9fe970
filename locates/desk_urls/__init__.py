"""Addresses of the ticket desk, one part a file."""
