"""Tests of the language server, over the real protocol, and of what it stands on."""
