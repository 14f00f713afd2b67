"""Solutions, what is dissolved in them, water, and silver put on by current."""
