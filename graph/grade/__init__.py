"""The corrected picture of any frame of a reel."""
