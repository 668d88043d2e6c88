"""A machine and its cells as one Markov chain: what a gt can draw, and what comes of it."""
