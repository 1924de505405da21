"""What came from the time before this book: its names, and how far its files were brought in."""

from collections.abc import Sequence

from equip.store.database import Store, in_chunks


def old_name(store: Store, sort: str, text: str) -> str | None:
    """The tag of the load or person that was called so."""
    row = store.one("SELECT tag FROM old_name WHERE sort = ? AND text = ?", sort, text)
    return None if row is None else str(row[0])


def old_names(store: Store, sort: str, texts: Sequence[str]) -> dict[str, str]:
    """The tags of those loads or people among *texts* that are in the book."""
    found: dict[str, str] = {}
    for some in in_chunks(texts):
        marks = ", ".join("?" * len(some))
        sql = f"SELECT text, tag FROM old_name WHERE sort = ? AND text IN ({marks})"
        found.update((str(text), str(tag)) for text, tag in store.rows(sql, sort, *some))
    return found


def called_before(store: Store, tag: str) -> str | None:
    """What a load or person was called, None if it has no name but ours."""
    row = store.one("SELECT text FROM old_name WHERE tag = ? ORDER BY text LIMIT 1", tag)
    return None if row is None else str(row[0])


def past_lines(store: Store) -> list[tuple[int, str]]:
    """Each file of the past as far as it was brought in: its last line, and its hash up to it."""
    return [(int(r[0]), str(r[1])) for r in store.rows("SELECT line, digest FROM past")]
