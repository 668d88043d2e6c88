"""Days lived through by chance, one after another and many together."""
