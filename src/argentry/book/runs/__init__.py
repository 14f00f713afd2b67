"""From a run's events to its state: pure functions."""
