"""The whole book as one archive, out and in."""
