"""Parentage of plants: who descends from whom, how close they are, and what they are made of."""
