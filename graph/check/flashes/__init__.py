"""Flashing pictures and regular stripes, after ITU-R BT.1702 and its national forms."""
