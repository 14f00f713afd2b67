"""Why plates fail: in this studio, and one plate at a time."""
