"""The engine held against the world outside: published circuits, tables and numbers, and other programs."""
