"""Pictures of plates: kept untouched, told apart, read safely, and what was read out of them."""
