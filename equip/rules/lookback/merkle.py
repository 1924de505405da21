"""The hash tree of RFC 6962 over the seals of a chain: a root, and short proofs of being in it.

A leaf is the 32-byte seal of one entry of a site, in order of position: the seal binds the
entry's text, time, place and everything before it, so whoever holds the root and a few hashes can
check that an entry is in the ledger without seeing any other entry. A leaf is hashed after a byte
0x00 and a node after 0x01, so that one cannot be passed off as the other (RFC 6962, section 2.1).
"""

from collections.abc import Iterator, Sequence
from hashlib import sha256

SIZE = 32
"""Bytes of a hash."""


def leaf_hash(data: bytes) -> bytes:
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    return sha256(b"\x01" + left + right).digest()


class Tree:
    """All hashes of a tree, level by level, each level in one run of bytes.

    Level by level the last node without a neighbour goes up as it is. That is the same tree as
    the one that is split at the largest power of two below its size.
    """

    def __init__(self, leaves: Iterator[bytes] | Sequence[bytes]) -> None:
        level = bytearray()
        for data in leaves:
            level += leaf_hash(data)
        self._levels = [bytes(level)]
        while len(self._levels[-1]) > SIZE:
            self._levels.append(_above(self._levels[-1]))

    @property
    def size(self) -> int:
        """How many leaves there are."""
        return len(self._levels[0]) // SIZE

    @property
    def root(self) -> bytes:
        return self._levels[-1] or sha256(b"").digest()

    def path(self, index: int) -> tuple[bytes, ...]:
        """The hashes beside the way from leaf *index* (from 0) to the root, the lowest first."""
        if not 0 <= index < self.size:
            raise IndexError(f"a tree of {self.size} leaves has no leaf {index}")
        found = []
        for level in self._levels[:-1]:
            beside = (index ^ 1) * SIZE
            if beside < len(level):
                found.append(level[beside : beside + SIZE])
            index //= 2
        return tuple(found)


def _above(level: bytes) -> bytes:
    """The level over *level*."""
    made = bytearray()
    pairs = len(level) // (2 * SIZE) * 2 * SIZE
    for at in range(0, pairs, 2 * SIZE):
        made += sha256(b"\x01" + level[at : at + 2 * SIZE]).digest()
    return bytes(made) + level[pairs:]


def root_by(data: bytes, index: int, size: int, path: Sequence[bytes]) -> bytes | None:
    """The root that *path* leads to from a leaf; None where no path of that length can lead."""
    if not 0 <= index < size:
        return None
    found, last, hashes = leaf_hash(data), size - 1, iter(path)
    while last:
        if index % 2 or index < last:
            beside = next(hashes, None)
            if beside is None:
                return None
            found = node_hash(beside, found) if index % 2 else node_hash(found, beside)
        index, last = index // 2, last // 2
    return found if next(hashes, None) is None else None
