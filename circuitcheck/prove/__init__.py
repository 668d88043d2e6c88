"""What always holds: every state that a circuit can come to, whatever its world does, looked at by the real engine."""
