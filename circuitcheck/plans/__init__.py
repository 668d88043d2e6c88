"""Plans: how to build what is drawn, what it can hear, and whether copies of it can stand side by side."""
