"""The native back end: a program as machine code for this processor, a vector of pixels at a time."""
