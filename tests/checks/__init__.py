"""Tests of what is judged: each form of claim and expectation, every verdict, every finding."""
