"""What each bush of a pin bears: its share of the load in plane, and of the couples out of it."""
