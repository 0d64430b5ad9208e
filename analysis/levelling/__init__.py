"""Depths dug across the machine → turns of each row's turnbuckle."""
