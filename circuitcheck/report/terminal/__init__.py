"""Reports for people: lines of text."""
