"""Light that changes inside a shot: its course, the ramps that explain it, the transitions that undo it."""
