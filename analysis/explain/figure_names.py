"""Names of all figures of one crossing, known before any is drawn."""

NAMES = ("crossing", "causes", "gauge_load", "depth", "pins", "gas", "drift", "spectrum")
