"""How the physics is compiled: decorators, rows of eight as one number, elementary functions, the cache on disk."""
