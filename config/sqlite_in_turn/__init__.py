"""SQLite as Django knows it, but that writers who wait come to their turn."""
