"""The compiled loops: one row with everything recorded, eight rows at once."""
