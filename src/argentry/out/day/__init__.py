"""The day sheet on paper, terminal, calendar and as JSON."""
