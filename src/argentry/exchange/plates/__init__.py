"""Tables of plates, in a maker's own columns or the plain ones."""
