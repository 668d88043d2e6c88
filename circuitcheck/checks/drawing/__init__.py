"""Checks of drawings: whether one is its circuit, and what a practised eye sees in it."""
