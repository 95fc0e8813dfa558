"""A whole bin in one go: photos found, grouped into parts, read on all cores, stored."""
