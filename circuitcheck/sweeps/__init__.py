"""The same asked again of many variants: settings, single faults, sets of rules."""
