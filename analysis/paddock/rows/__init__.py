"""Single rows of a paddock: at all settings as in their pass, and with everything recorded."""
