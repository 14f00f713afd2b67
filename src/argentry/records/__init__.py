"""Plain frozen dataclasses: what the studio, a plate and a day are."""
