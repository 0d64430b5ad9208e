"""What is crossed, and with which settings."""
