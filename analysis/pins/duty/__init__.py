"""What a crossing does to each pin, in the plane of travel: size, direction, cycles, sliding."""
