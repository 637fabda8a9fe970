"""The clearance record of a bore: read from the records, laid out as a PDF, made by a worker."""
