"""The text of a confirmation, read with patterns that a company keeps itself. Pure."""
