"""Windows on ground that is one feature: what they are judged by, and how that reads."""
