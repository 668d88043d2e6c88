"""What always holds: every state that a circuit can reach, whatever its world does, looked at by the real engine."""
