"""Substances by formula, old measures, and the order in which solutions are poured."""
