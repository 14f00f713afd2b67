"""The plates as learning sees them, and the studio's own numbers that they teach."""
