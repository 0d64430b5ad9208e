"""A paddock: its file, what lies in plan, and the ground under each row."""
