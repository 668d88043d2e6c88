"""The grammar of circuit files (`circuit.lark`), its reference (`README.md`) and the rules (`RULES.md`), as data."""
