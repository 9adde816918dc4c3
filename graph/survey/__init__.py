"""What was measured of a scan, looked at: marks, changes of shot, starts, and what else a person may want."""
