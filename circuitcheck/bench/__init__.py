"""The bench: a circuit worked by hand in a browser, on the engine itself, served to this machine alone."""
