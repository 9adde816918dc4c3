"""A copy of a scan that is quick to read: for a picture that moves, and never for one that is kept."""
