"""Spreadsheets and CSV files as tables of cells."""
