"""The forms the book's tables have had, one file for each step; never edited afterwards."""
