"""The procedures that come with the program, read once for all tests of a process."""

import gc
from functools import cache

from service.domain.procedure import Library
from service.library.read import load, procedures_folder


@cache
def whole_library() -> Library:
    """The library; what it is made of stays to the end, so no garbage is looked for among it."""
    found = load(procedures_folder())
    gc.collect()
    gc.freeze()
    return found
