"""Looking after a book: copies of it, its check, and how much it holds."""
