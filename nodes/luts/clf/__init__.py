"""The Common LUT Format, read and written by the same records: a list of process nodes, each with its maths.

Academy S-2014-006 v3.0, and files in the namespace of SMPTE ST 2136-1, which was not seen.
"""
