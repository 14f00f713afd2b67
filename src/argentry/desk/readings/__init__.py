"""Readings by hand and by sensor, and the devices that send them."""
