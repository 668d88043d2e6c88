"""Machines driven by chance, held against plain ways to work them out and against textbooks."""
