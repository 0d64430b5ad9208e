"""The physics of one row unit: no files, no plots, no printing."""

from sim.arithmetic.compilecache import choose_cache_folder

choose_cache_folder()
