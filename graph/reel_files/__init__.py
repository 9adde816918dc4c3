"""A reel opened: with its file, its nodes, and the files that it names, which are never written over."""
