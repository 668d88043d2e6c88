"""Tests of how a circuit is read out of a drawing, held against the page of rules (W1 to W10, G1 to G3)."""
