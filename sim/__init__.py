"""The physics of one row unit: no files, no plots, no printing."""
