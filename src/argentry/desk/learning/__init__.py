"""What the plates teach: odds, causes, own numbers, the next trial."""
