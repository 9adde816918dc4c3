"""The window, and what is drawn into it."""
