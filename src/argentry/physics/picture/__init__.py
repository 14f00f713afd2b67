"""Exposure and development as doses of light, and how still a sitter must be."""
