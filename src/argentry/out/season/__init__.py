"""A season as it is shown: in words, as a map of days by hours, as PDF."""
