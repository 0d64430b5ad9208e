"""A whole machine over a paddock: computed pass by pass, kept, told."""
