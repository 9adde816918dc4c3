"""All that is handed over, as a bag: files of open forms, with a digest of each, checked without us."""
