"""What the materials of the wet steps come to: solutions, silver, baths, water."""
