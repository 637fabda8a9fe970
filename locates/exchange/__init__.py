"""The job file: read, checked, told in words, and written again."""
