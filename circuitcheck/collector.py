"""Python's garbage collector, paused while much is made and all of it is kept.

The collector looks for circles of references. Each time it goes through all that there is, to find next to nothing: of
reading and wiring 20,000 parts it took half the time (measured). What is in no circle is freed at once as ever.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def paused() -> Iterator[None]:
    """The collector rests while the block runs; afterwards it works again, if it did before."""
    if not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
