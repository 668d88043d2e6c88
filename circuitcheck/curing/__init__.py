"""What is the least to change so that all that a file asks holds: changes of its lines, tried cheapest first."""
