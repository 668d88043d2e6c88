"""What an editor needs from circuit files, and the language server that answers (extra `editor`)."""
