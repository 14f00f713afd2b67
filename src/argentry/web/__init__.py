"""Pages and the HTTP API. Thin: parse, call the desk, show."""
