"""size."""
