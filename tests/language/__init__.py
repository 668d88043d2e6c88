"""Tests of the language: every mistake a file can hold is reported, placed and mended, and nothing else is."""
