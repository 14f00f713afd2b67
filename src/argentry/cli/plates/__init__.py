"""Commands that keep plates and the book."""
