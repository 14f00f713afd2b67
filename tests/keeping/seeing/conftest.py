"""Pictures are read without a process for each."""

from tests.read_here import read_here

__all__ = ["read_here"]
