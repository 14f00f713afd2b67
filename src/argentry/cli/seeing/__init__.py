"""Commands that look at photographs."""
