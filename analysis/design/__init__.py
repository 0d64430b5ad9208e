"""Free values searched for the front between hectares an hour, on-depth share and pin load."""
