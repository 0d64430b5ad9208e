"""What the gauge wheel carries, and how far tyre and soil give way under it."""
