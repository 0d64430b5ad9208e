"""The second engine: the same unit as loose bodies in a general rigid-body engine."""
