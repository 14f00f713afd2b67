"""A maker's own notebook: its columns guessed, asked about, read; what is left listed to mend."""
