"""What is tried against a fault of depth, what it gives at each place, and what it costs."""
