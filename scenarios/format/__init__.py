"""The file format: keys from metadata, checks, messages, starter files, reading."""
