"""Questions to the catalogue: parts found, sizes counted, wheels put together."""
