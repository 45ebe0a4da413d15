"""areaplan: practice areas that are legal, survivable and documented. Planning aid only."""

__version__ = "0.1.0"
