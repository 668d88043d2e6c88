"""Verdicts on checks, claims and responses together; `door` is the one way in."""
