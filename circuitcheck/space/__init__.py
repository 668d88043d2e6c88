"""Space: what a drawing comes to as a circuit, by the rules of wiring in space (rules W1 to W10) and of light."""
