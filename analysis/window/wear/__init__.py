"""What play in a unit's pins costs: the same search with pins that fit beside it."""
