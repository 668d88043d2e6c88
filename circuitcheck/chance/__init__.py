"""What chance does: cells that are drawn, the machine that watches them, and how long it takes."""
