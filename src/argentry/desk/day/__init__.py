"""The plan of one day."""
