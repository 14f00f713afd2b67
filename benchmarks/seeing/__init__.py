"""Synthetic pictures of coats, and what the judge says of them."""
