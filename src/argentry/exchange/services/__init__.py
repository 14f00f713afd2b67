"""Open weather services: what each is asked, how its answers are read, and the one that asks."""
