"""File endings by what is written to them."""

FIGURES = (".png", ".svg", ".pdf")
