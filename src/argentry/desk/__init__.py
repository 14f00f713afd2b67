"""The use cases of a day: plan it, work it, learn from it, show it. Joins the floors below."""
