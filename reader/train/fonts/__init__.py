"""Packs of open fonts that markings are drawn with, and which are held out."""
