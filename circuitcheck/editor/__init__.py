"""What an editor asks of circuit files, and the language server that answers (extra `editor`)."""
