"""Speed and memory, each figure as a ratio against a named reference timed in the same run."""
