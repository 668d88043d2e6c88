"""The report as one page for a browser."""
