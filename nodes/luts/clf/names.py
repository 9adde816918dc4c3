"""What a file calls the fields of a record."""


def camel(field: str) -> str:
    """Return `log_side_slope` as `logSideSlope`."""
    first, *rest = field.split("_")
    return first + "".join(word.title() for word in rest)
