"""What all words and figures share."""
