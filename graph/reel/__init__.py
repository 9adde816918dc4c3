"""The reel as a document: its records, its file, its counters, presets to begin from."""
