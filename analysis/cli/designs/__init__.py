"""Commands that look at the unit's own design; those of a setting stand beside this folder."""
