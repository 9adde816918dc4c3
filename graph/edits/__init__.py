"""Every change of a reel, as functions from reel to reel."""
