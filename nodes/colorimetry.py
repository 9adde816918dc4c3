"""The colour-science library, imported late and quietly.

It takes a second to import, and warns that its plotting, which is not used here, is absent.
"""

import warnings
from types import ModuleType


def colour_science() -> ModuleType:
    """Return the package `colour`."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
        import colour.adaptation
    return colour
