"""What readings are expected to be under trial values."""
