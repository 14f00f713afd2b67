"""Pure functions over NumPy arrays, SI inside. No database, no screen, no clock, no disk."""
