"""Tests of pages in a real browser, opened from the file system as a reader would open them."""
