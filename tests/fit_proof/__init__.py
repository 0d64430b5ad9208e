"""Whether a fit finds what is there: fields drawn from the prior, readings made in them, fitted, and compared."""
