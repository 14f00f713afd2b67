"""Labels and sheets of the workshop's materials."""
