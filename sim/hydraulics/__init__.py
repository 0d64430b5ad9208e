"""Cylinder, oil line and accumulator of one unit."""
