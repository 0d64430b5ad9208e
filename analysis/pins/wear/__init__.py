"""Wear and strength of pins and bushes, and how long they last."""
