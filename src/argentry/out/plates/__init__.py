"""A plate's record, drawn and in words."""
