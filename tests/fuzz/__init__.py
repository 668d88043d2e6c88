"""Fuzzing guided by coverage: inputs without end, bent out of good files, and what must be so of each of them."""
