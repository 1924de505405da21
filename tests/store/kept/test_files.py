"""Files are kept by the hash of their bytes: the same bytes once, and never other bytes."""

from hashlib import sha256

import pytest

from equip.store.database import Store
from equip.store.kept import files

LOG = b"seconds,celsius,kpa\n0,20.0,101.3\n\x00\xff"


def test_what_was_kept_comes_back_byte_for_byte(store: Store) -> None:
    digest = files.keep(store, LOG, "run.csv")

    assert digest == sha256(LOG).hexdigest()
    assert files.fetch(store, digest) == LOG


def test_the_same_bytes_are_kept_once_under_the_name_they_came_with_first(store: Store) -> None:
    assert files.keep(store, LOG, "run.csv") == files.keep(store, LOG, "again.csv")

    assert store.rows("SELECT name FROM file") == [("run.csv",)]


@pytest.mark.parametrize("data", [b"", b"\x00" * 200_000])
def test_no_bytes_and_many_bytes_are_kept_as_well(store: Store, data: bytes) -> None:
    assert files.fetch(store, files.keep(store, data, "odd")) == data


def test_a_file_that_was_never_kept_is_none(store: Store) -> None:
    assert files.fetch(store, "0" * 64) is None


def test_bytes_that_were_changed_afterwards_are_not_handed_out(store: Store) -> None:
    digest = files.keep(store, LOG, "run.csv")
    store.run("UPDATE file SET bytes = ?", LOG.replace(b"20.0", b"90.0"))

    assert files.fetch(store, digest) is None
