"""The start page: reels opened lately, a reel to open, a new one to start."""
