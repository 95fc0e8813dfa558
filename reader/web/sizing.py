"""Typed sizes: the same reading of texts as for photos, for what a visitor types in."""

from __future__ import annotations
