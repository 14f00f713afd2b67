"""Commands that write and check a studio."""
