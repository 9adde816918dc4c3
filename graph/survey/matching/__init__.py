"""Shots brought to one another: their distance, what they have in common, the settings that close it."""
