"""What leaves with the master."""
