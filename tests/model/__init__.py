"""Tests of what a circuit is made of: its parts, its kinds of part, its graph."""
