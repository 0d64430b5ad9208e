"""How the passes of a paddock are crossed: which at once, on what, and row by row over their ground."""
