"""Decisions over time: the day. Takes records and arrays, returns records; knows no screen."""
