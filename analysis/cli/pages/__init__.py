"""Commands that make a page: one to hand over, and one that lives."""
