"""What grading cannot mend: found in what was measured of every frame, and proposed as marks."""
