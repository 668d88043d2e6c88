"""Tests of the pytest plugin: circuit files are tests."""
