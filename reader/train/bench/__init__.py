"""Measurements of the whole: accuracy, speed, size, each with its table beside it."""
