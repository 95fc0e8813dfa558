"""One module for each thing a visitor does. Each has a list `ROUTES`."""
