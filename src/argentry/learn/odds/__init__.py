"""What the plates say of a plate to come: the fit of all stages, its odds and its effects."""
