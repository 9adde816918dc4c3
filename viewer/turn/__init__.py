"""One turn of the desk: what is decided, and who carries it out."""
