"""Arrays in, arrays out: standoff, airspace bands, glide. Knows no file, CRS or regulation."""
