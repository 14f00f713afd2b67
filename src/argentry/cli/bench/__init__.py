"""Commands that run the bench, here or on tablets."""
