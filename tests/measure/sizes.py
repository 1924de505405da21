"""How much is measured: as much as the figures are of, or with SMALL=1 enough to run it all."""

import os

SMALL = bool(os.environ.get("SMALL"))


def size(full: int, small: int) -> int:
    """*full*, or *small* where a run has only to show that every measure still works."""
    return small if SMALL else full
