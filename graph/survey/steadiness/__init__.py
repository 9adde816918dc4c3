"""How steady the picture stands, and by what it is held still."""
