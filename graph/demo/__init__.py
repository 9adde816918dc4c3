"""The main job on an invented reel: about forty seconds of a made-up 16 mm film, with what real scans have.

Everything in it is made up: no person, place, brand or wording is real. It has leaders with punched holes,
weave, grain, dust, a hair, scratches, flicker, casts, a wrong exposure, a change of light inside a shot, a
soft shot, a faded one, night, a chart and sound; and `demo-truth.json` says, frame by frame, what was done
and which settings undo it.
"""
