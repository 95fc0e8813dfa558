"""Text as signs: one spelling for the same sign, signs that look alike, units."""
