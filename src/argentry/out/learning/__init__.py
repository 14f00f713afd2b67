"""What was learned, in words, tables and charts."""
