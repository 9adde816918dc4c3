"""The files that a reel names: opened, and never written over."""
