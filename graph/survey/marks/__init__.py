"""Marks: where the picture starts and ends, leaders, the lab's punched holes, the sync pip."""
