"""Hostile names, files, folders and outputs: nothing is obeyed, nothing is lost, everything is reported."""
