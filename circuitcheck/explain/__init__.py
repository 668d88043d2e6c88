"""Why: chains of causes out of recorded runs, in words."""
