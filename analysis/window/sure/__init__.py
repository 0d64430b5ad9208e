"""How sure a pick is: which values it rests on, and what happens to it when they are others."""
