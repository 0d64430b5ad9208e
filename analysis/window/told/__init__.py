"""What is told of a window beside its short screen."""
