"""Baths, stock and recipes."""
