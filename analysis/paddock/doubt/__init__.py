"""A paddock whose file leaves values in doubt: the chance that every limit is met, from some rows of it."""
