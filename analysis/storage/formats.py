"""File endings by what is written to them."""

FIGURES = (".png", ".svg", ".pdf")
RESULTS = (".h5", ".hdf5")
HANDED_ON = (".html",)  # pages, made for somebody else's desk
