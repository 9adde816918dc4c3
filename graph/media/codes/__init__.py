"""Codes of pictures and what they mean, both ways: planes, Y'CbCr, chroma, rasters."""
