"""Why the depth moves along one crossing: causes, what helps, figures, moving picture."""
