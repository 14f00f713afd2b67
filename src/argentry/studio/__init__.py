"""The studio file: its keys, how it is read, checked and written."""
