"""Where a plate lies in a picture, and how it looks straight on."""
