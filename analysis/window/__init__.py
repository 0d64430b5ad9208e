"""Pressures × speeds: which meet all limits, which to pick, why, and how sure."""
