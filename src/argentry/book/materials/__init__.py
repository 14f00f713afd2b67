"""Notes on lots and waste, and what the bench takes from lots."""
