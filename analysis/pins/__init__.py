"""Pins and bushes: what a setting costs the machine."""
