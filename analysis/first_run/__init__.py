"""What the first run on a machine compiles: what is missing, how long it takes, and how two processes share it."""
