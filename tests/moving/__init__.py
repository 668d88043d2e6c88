"""Drawings that move: pistons that move wiring, and water that flows."""
