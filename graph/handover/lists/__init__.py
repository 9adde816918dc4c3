"""Lists of shots, out and in: event lists, timelines, collections of CDLs."""
