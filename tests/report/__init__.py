"""Tests of the command line as its users meet it: through a process of its own."""
