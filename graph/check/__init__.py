"""Finished masters proved: against their record, against the reel, against another master."""
