"""From text to circuits and claims: words, grammar, syntax tree, and the lowering of that tree into the model."""
