"""The build in three dimensions: its solids out of flat faces, seen from a corner, and as a file for other viewers."""
