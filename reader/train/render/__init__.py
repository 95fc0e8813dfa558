"""Drawn photographs of tyres and rims with their truth."""
