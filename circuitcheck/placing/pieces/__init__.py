"""Layouts of circuits that are too large for one annealing: pieces, placed and joined by routes of dust."""
