"""What other programs read: JSON, SARIF, JUnit, VCD, SVG, DOT, GraphML."""
