"""What the desk holds and does. Nothing here knows a window."""
