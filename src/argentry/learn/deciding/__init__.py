"""What to do with a plate at a checkpoint, and what to try next."""
