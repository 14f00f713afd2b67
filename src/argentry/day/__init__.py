"""The plan of one day, from studio, sky, needs and planner; it knows no book."""
