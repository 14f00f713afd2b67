"""The order of a day by a solver, and minutes before which no day can end."""
