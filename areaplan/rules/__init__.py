"""Limits as data: one TOML file per authority, with quoted sentences and worked examples."""
