"""Numbers for new tags: each letter's counter only rises, so no tag is given twice."""

from equip.scan import next_tag
from equip.store.database import Store


def take(store: Store, letter: str) -> str:
    """A tag that was never given before. Inside a transaction."""
    row = store.one("SELECT last FROM counter WHERE letter = ?", letter)
    return _keep(store, letter, next_tag(letter, 0 if row is None else int(row[0])))


def taken(store: Store, tag: str) -> None:
    """*tag* is in use from elsewhere: the counter of its letter does not fall behind it."""
    row = store.one("SELECT last FROM counter WHERE letter = ?", tag[0])
    if row is None or int(row[0]) < int(tag[1:9]):
        _keep(store, tag[0], tag)


def _keep(store: Store, letter: str, tag: str) -> str:
    store.run(
        "INSERT INTO counter (letter, last) VALUES (?, ?)"
        " ON CONFLICT (letter) DO UPDATE SET last = excluded.last",
        letter,
        int(tag[1:9]),
    )
    return tag
