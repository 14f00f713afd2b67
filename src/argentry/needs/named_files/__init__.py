"""Files that options name: columns of numbers, and spectra."""
