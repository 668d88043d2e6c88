"""Layouts: where each part of a circuit stands."""
