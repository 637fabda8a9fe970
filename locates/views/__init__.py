"""The pages of what was called in, painted and found."""
