"""Tests of certificates: what they are made of, how they are written, and what checking finds."""
