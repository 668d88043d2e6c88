"""Tests of the language: every mistake a file can hold is told, placed and mended, and never more than told."""
