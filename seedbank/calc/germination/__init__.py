"""Reckoning with germination counts."""
