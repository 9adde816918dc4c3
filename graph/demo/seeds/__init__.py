"""Reels of the invented film that chance put together anew: a number makes a reel, always the same one.

Each has another order of shots, other casts, changes of light, flicker, dirt and faults, and a record of
all that was done. A survey is held against that record. As in the demo reel nothing here is real.
"""
