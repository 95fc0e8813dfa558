"""photo."""
