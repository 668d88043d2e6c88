"""Tests of the plans of drawings, and of the commands on drawings."""
