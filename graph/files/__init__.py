"""Files on disk, whatever is in them: written whole, locked, kept in a cache, read as records."""
