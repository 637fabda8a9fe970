"""Forms of the records, and the fields that they share."""
