"""The triggers that make the ledger append-only, and proof that they are there as made."""

from collections.abc import Callable
from typing import Any


class LedgerUnguarded(RuntimeError):
    """A trigger that guards the ledger is missing or altered; the message names it."""


SQLITE = {
    "ledger_no_update": """CREATE TRIGGER ledger_no_update BEFORE UPDATE ON ledger
BEGIN SELECT RAISE(ABORT, 'the ledger is told, never edited'); END""",
    "ledger_no_delete": """CREATE TRIGGER ledger_no_delete BEFORE DELETE ON ledger
BEGIN SELECT RAISE(ABORT, 'the ledger is told, never deleted from'); END""",
    "ledger_in_order": """CREATE TRIGGER ledger_in_order BEFORE INSERT ON ledger
WHEN NEW.position <> 1 + COALESCE(
    (SELECT MAX(position) FROM ledger WHERE site = NEW.site), 0)
BEGIN SELECT RAISE(ABORT, 'an entry follows the last of its site'); END""",
}

_FUNCTIONS = {
    "ledger_refuse": """BEGIN
    RAISE EXCEPTION 'the ledger is told, never edited or deleted from';
END""",
    "ledger_follow": """BEGIN
    IF NEW.position <> 1 + COALESCE(
        (SELECT MAX(position) FROM ledger WHERE site = NEW.site), 0) THEN
        RAISE EXCEPTION 'an entry follows the last of its site';
    END IF;
    RETURN NEW;
END""",
}
_POSTGRES = {
    "ledger_no_update": ("BEFORE UPDATE ON ledger FOR EACH ROW", "ledger_refuse"),
    "ledger_no_delete": ("BEFORE DELETE ON ledger FOR EACH ROW", "ledger_refuse"),
    "ledger_no_truncate": ("BEFORE TRUNCATE ON ledger FOR EACH STATEMENT", "ledger_refuse"),
    "ledger_in_order": ("BEFORE INSERT ON ledger FOR EACH ROW", "ledger_follow"),
}
_ALWAYS = "A"  # PostgreSQL's letter for a trigger that a replica's session cannot pass by


def missing_guards(rows: Callable[..., list[tuple[Any, ...]]], *, postgres: bool) -> list[str]:
    """A sentence for each guard that is not there exactly as it was made."""
    return _missing_on_postgres(rows) if postgres else _missing_on_sqlite(rows)


def _missing_on_sqlite(rows: Callable[..., list[tuple[Any, ...]]]) -> list[str]:
    there = dict(
        rows("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'ledger'")
    )
    return _compared({name: _plain(sql) for name, sql in SQLITE.items()}, there)


def _missing_on_postgres(rows: Callable[..., list[tuple[Any, ...]]]) -> list[str]:
    wanted = {
        name: _plain(
            f"{_ALWAYS} CREATE TRIGGER {name} {when} EXECUTE FUNCTION {f}() {_FUNCTIONS[f]}"
        )
        for name, (when, f) in _POSTGRES.items()
    }
    there = {
        name: f"{enabled} {made} {source}"
        for name, enabled, made, source in rows(
            "SELECT t.tgname, t.tgenabled, pg_get_triggerdef(t.oid, true), p.prosrc"
            " FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid"
            " WHERE t.tgrelid = to_regclass('ledger') AND NOT t.tgisinternal"
        )
    }
    return _compared(wanted, there)


def _compared(wanted: dict[str, str], there: dict[str, str]) -> list[str]:
    says = []
    for name, sql in wanted.items():
        if name not in there:
            says.append(f"The trigger {name} is missing.")
        elif _plain(there[name]) != sql:
            says.append(f"The trigger {name} is not the one that was made.")
    return says


def _plain(sql: str) -> str:
    return " ".join(sql.split())
