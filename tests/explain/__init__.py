"""Tests of what the program explains, held against other ways of finding the same out."""
