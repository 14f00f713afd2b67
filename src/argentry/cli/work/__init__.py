"""Commands that answer for one step of the work."""
