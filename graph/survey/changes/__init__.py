"""Changes of shot: cuts, dissolves and fades, found in what was measured of every frame."""
