"""The ground of a track: shapes, roughness, measured profiles, strength, stones."""
