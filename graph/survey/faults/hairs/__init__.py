"""Hairs in the gate: what is thin and stays in its place while the pictures under it change."""
