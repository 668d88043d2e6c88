"""Circuits found by searching: netlists of torches and repeaters under which all claims hold, fewest parts first."""
