"""Which values of a file move a measure, and by how much: sets drawn, crossed, and the variance shared out."""
