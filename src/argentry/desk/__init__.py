"""The use cases, one function each. The only place that joins the floors below."""
