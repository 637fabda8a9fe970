"""What the bore does among the lines: clearances, crossings, the checks behind a release."""
