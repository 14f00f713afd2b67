"""Commands that tell what the plates taught."""
