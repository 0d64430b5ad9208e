"""Checks of the numbers themselves."""
