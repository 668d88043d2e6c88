"""Properties of the engine over small random circuits."""
