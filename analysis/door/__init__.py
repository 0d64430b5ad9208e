"""What Python users get: loading, crossing, searching and explaining as objects with a few short methods."""
