"""What is in doubt about a scenario: which values, how far by assumption or by readings, and sets drawn from that."""
