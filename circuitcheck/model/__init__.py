"""What a circuit is: its parts, its rules, what is claimed of it. Knows nothing of text or of printing."""
