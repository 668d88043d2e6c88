"""The grammar and its pages, as they were installed or as they stand in the checkout that the program is run out of."""

from __future__ import annotations

import os
from importlib.util import find_spec
from pkgutil import get_data


def shipped(name: str) -> str:
    """The text of a file of the folder `grammar`. Raises OSError where the installation lacks it."""
    installed = get_data("circuitcheck.grammar", name) if find_spec("circuitcheck.grammar") else None
    if installed is not None:
        return installed.decode("utf-8")
    checkout = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
    with open(os.path.join(checkout, "grammar", name), encoding="utf-8") as stream:
        return stream.read()
