"""Pieces that several commands share: options, faults, reading FILE, readying the model."""
