"""The sound that plays with the picture."""
