"""The corrections, one file each."""
