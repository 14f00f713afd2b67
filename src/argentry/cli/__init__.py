"""Commands: parse, call the desk, show. Nothing else."""
