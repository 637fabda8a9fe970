"""The pages of what the bore does among the lines."""
