"""What is measured of every frame of a scan, once, and kept: for the survey, the strip and the desk."""
