"""Rates, timecode, footage: whole frames and exact ratios."""
