"""The unit crossing a place, as a moving picture."""
