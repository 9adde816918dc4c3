"""The pass."""
