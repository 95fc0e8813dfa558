"""From a name to the sizes it can mean, and from a size to its names."""
