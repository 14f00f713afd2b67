"""The coat of silver iodide: how it grows, what it reflects, its colour to eye and camera."""
