"""A start for every shot: exposure, lift and balances toward neutral, as far as the picture supports them."""
