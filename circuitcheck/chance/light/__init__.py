"""Light at places, and which cells are in reach of which."""
