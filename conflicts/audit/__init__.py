"""The audit: who released, watched and changed what, for the safety manager."""
