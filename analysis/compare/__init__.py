"""Two to six designs on the same ground: what each does, and by how much they differ beyond chance."""
