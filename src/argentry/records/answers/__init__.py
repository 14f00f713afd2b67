"""Answers to a maker's questions, as plain records: what a command prints and a page shows."""
