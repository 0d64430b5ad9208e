"""Figures of a paddock."""
