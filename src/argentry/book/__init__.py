"""Storage: the studio folder, weather files and (later) the plate book."""
