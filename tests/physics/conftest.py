"""What is run by hand is not collected."""

collect_ignore = ["broken_laws.py"]
