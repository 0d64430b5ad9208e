"""How fast a stone may be met, and how often that happens on a hectare."""
