"""What happens: power, time and order. The theory of operation stands in `engine.kernel`."""
