"""The toolbar's own ride over the ground."""
