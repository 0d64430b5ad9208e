"""What a crossing means: measures, windows, figures, stores and the command line."""
