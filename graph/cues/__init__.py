"""Timecode, footage, the cue list, and the settings at a frame."""
