"""Small motions of the unit: what swings how fast, which ridges at which speed shake it, and where that ends."""
