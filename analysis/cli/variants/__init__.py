"""Commands that cross many variants of one file."""
