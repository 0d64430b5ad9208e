"""The unit as a mechanism: linkages, bodies, equations of motion, pin reactions."""
