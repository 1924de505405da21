"""Laws of the tree over the seals, against the definition as RFC 6962 (section 2.1) words it."""

from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.lookback.merkle import Tree, leaf_hash, node_hash, root_by

LEAVES = st.lists(st.binary(max_size=40), max_size=70)
SOME = st.lists(st.binary(max_size=40), min_size=1, max_size=70)


def split(size: int) -> int:
    """The largest power of two smaller than *size*."""
    return 1 << ((size - 1).bit_length() - 1)


def by_definition(leaves: list[bytes]) -> bytes:
    """The tree hash of the RFC, word for word."""
    if not leaves:
        return sha256(b"").digest()
    if len(leaves) == 1:
        return sha256(b"\x00" + leaves[0]).digest()
    k = split(len(leaves))
    return sha256(b"\x01" + by_definition(leaves[:k]) + by_definition(leaves[k:])).digest()


def path_by_definition(index: int, leaves: list[bytes]) -> list[bytes]:
    """The audit path of the RFC (section 2.1.1), word for word."""
    if len(leaves) <= 1:
        return []
    k = split(len(leaves))
    if index < k:
        return [*path_by_definition(index, leaves[:k]), by_definition(leaves[k:])]
    return [*path_by_definition(index - k, leaves[k:]), by_definition(leaves[:k])]


@given(LEAVES)
def test_the_root_is_the_one_of_the_definition(leaves: list[bytes]) -> None:
    assert Tree(leaves).root == by_definition(leaves)


@given(SOME, st.data())
def test_a_path_is_the_one_of_the_definition_and_leads_to_the_root(
    leaves: list[bytes], data: st.DataObject
) -> None:
    index = data.draw(st.integers(0, len(leaves) - 1))
    tree = Tree(leaves)

    path = tree.path(index)

    assert list(path) == path_by_definition(index, leaves)
    assert root_by(leaves[index], index, len(leaves), path) == tree.root


@given(SOME, st.data())
def test_a_changed_leaf_place_or_path_does_not_lead_there(
    leaves: list[bytes], data: st.DataObject
) -> None:
    index = data.draw(st.integers(0, len(leaves) - 1))
    tree, size = Tree(leaves), len(leaves)
    path, root = list(tree.path(index)), tree.root

    assert root_by(leaves[index] + b"x", index, size, path) != root
    assert root_by(leaves[index], index, size, [*path, root]) is None
    for other in range(size):
        if leaves[other] != leaves[index]:
            assert root_by(leaves[other], index, size, path) != root
            assert root_by(leaves[index], other, size, path) != root
    if path:
        assert root_by(leaves[index], index, size, path[:-1]) is None
        spoilt = data.draw(st.integers(0, len(path) - 1))
        path[spoilt] = sha256(path[spoilt]).digest()
        assert root_by(leaves[index], index, size, path) != root


def test_small_trees_worked_by_hand() -> None:
    a, b, c = (leaf_hash(one) for one in (b"a", b"b", b"c"))

    assert Tree([b"a"]).root == a == sha256(b"\x00a").digest()
    assert Tree([b"a", b"b"]).root == node_hash(a, b) == sha256(b"\x01" + a + b).digest()
    assert Tree([b"a", b"b", b"c"]).root == node_hash(node_hash(a, b), c)
    assert Tree([b"a", b"b", b"c"]).path(2) == (node_hash(a, b),)
    assert Tree([b"a", b"b", b"c"]).path(0) == (b, c)


def test_roots_of_the_empty_tree_and_of_one_empty_leaf() -> None:
    """Source: memory. The SHA-256 of no byte, and of the one byte 0x00, as often printed."""
    empty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    one = "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"

    assert Tree([]).root.hex() == empty
    assert Tree([b""]).root.hex() == one


def test_a_leaf_that_is_not_there_has_no_path() -> None:
    with pytest.raises(IndexError, match="no leaf 2"):
        Tree([b"a", b"b"]).path(2)
    assert root_by(b"a", 2, 2, []) is None
