"""markings."""
