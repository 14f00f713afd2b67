"""argentry: plans, times, records and explains the making of iodine-only daguerreotypes."""

__version__ = "0.1.0"
