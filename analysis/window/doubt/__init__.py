"""A window with values in doubt: the chance that all limits are met in each cell, and the pick by it."""
