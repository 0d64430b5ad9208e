"""What a measured record of heights holds, and how its ground goes on beyond its ends."""
