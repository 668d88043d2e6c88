"""Tests of the engine against the rules of the trade, one file for each kind of part."""
