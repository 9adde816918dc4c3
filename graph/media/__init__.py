"""Scan in, master out."""
