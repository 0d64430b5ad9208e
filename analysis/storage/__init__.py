"""What is kept on disk, and how it is written."""
