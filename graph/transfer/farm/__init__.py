"""A pass in segments, on many machines, joined to the very master that one pass makes."""
