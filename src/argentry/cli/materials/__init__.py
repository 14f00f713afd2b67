"""Commands for baths, stock, waste, safety and cost."""
