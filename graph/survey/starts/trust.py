"""How far a measure is trusted, between what is taken whole and what is not taken at all."""


def trust(value: float, between: tuple[float, float]) -> float:
    """Return 1 up to the first number, 0 from the second on, and what lies between on the way.

    The first may be the larger: then it is 1 from there up.
    """
    whole, none = between
    return min(1.0, max(0.0, (value - none) / (whole - none)))
