"""Fit: readings of a unit and its ground → the values that explain them, with their doubt, and what to measure next."""
