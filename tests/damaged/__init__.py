"""Input that is damaged, extreme or hostile, made by the thousand, and what the program makes of it."""
