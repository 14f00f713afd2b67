"""Plates, their makings, their grades and defects."""
