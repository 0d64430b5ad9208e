"""What a file of readings says: kinds, lines, groups."""
