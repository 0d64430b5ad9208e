"""Values in place of a file's: which key a dotted name means, what moves with it, how it is put in and told."""
