"""Pixels in, straight strips out: loading in a guarded process, laying straight, drawing over."""
