"""Readers: one per kind of data, from files to checked tables in `areaplan.sources.layers`."""
