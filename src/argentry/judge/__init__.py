"""What a photograph says: arrays and records in, records out; no path, no clock, no screen."""
