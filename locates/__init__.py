"""What was called in, painted and found."""
