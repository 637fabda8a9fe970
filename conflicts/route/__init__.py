"""The conduit route of a job: its bores as a chain between pits and boxes. Pure."""
