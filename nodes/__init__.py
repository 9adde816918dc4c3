"""What a correction does to a pixel: the maths, each node, the registry. No media, no time, no window."""
