"""The page to record: what is chosen, the pass with its read-back, the verdict, and inserts."""
