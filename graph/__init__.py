"""Chains, cues, media and the reel: everything between a scan and a master."""
