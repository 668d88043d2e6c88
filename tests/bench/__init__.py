"""Tests of the bench: runs worked by hand, what is told of them, and how they are served."""
