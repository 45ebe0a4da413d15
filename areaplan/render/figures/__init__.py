"""Drawings for paper, by matplotlib: maps of the area and a vertical section through it."""
