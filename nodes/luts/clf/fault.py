"""How a record of a CLF file says that its numbers make no sense."""


class Fault(ValueError):
    """What is wrong with a record and what to do, as a clause: whoever reads a file adds the place."""


def require(is_right: bool, clause: str) -> None:
    """Raise Fault with `clause` where something is not right."""
    if not is_right:
        raise Fault(clause)
