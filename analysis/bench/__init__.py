"""The live bench: a local page on which ground, setting and unit are moved by hand and the crossing follows."""
