"""What the pages show."""
