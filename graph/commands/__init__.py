"""The commands, a few to a file. Each turns what was typed into calls, and results into lines."""
