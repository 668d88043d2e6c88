"""From a phase of the day to the first edge of a signal: the whole distribution."""
