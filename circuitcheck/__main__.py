"""Lets `python -m circuitcheck` do what `circuitcheck` does."""

from circuitcheck.cli import main

if __name__ == "__main__":
    main()
