"""The ledger and the heads of its chains, in plain SQL, with the triggers that guard it."""

from peewee import PostgresqlDatabase

SQLITE = """CREATE TABLE ledger (
    site TEXT NOT NULL,
    position INTEGER NOT NULL CHECK (position > 0),
    recorded_at INTEGER NOT NULL,
    body BLOB NOT NULL,
    seal BLOB NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (site, position)
) WITHOUT ROWID"""

SQLITE_HEAD = """CREATE TABLE head (
    site TEXT NOT NULL PRIMARY KEY,
    position INTEGER NOT NULL,
    seal BLOB NOT NULL
) WITHOUT ROWID"""

SQLITE_GUARDS = (
    """CREATE TRIGGER ledger_no_update BEFORE UPDATE ON ledger
BEGIN SELECT RAISE(ABORT, 'the ledger is told, never edited'); END""",
    """CREATE TRIGGER ledger_no_delete BEFORE DELETE ON ledger
BEGIN SELECT RAISE(ABORT, 'the ledger is told, never deleted from'); END""",
    """CREATE TRIGGER ledger_in_order BEFORE INSERT ON ledger
WHEN NEW.position <> 1 + COALESCE(
    (SELECT MAX(position) FROM ledger WHERE site = NEW.site), 0)
BEGIN SELECT RAISE(ABORT, 'an entry follows the last of its site'); END""",
)

POSTGRES = (
    """CREATE TABLE ledger (
    site TEXT NOT NULL,
    position BIGINT NOT NULL CHECK (position > 0),
    recorded_at BIGINT NOT NULL,
    body BYTEA NOT NULL,
    seal BYTEA NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (site, position)
)""",
    """CREATE TABLE head (
    site TEXT NOT NULL PRIMARY KEY,
    position BIGINT NOT NULL,
    seal BYTEA NOT NULL
)""",
    """CREATE FUNCTION ledger_refuse() RETURNS trigger LANGUAGE plpgsql AS $$BEGIN
    RAISE EXCEPTION 'the ledger is told, never edited or deleted from';
END$$""",
    """CREATE FUNCTION ledger_follow() RETURNS trigger LANGUAGE plpgsql AS $$BEGIN
    IF NEW.position <> 1 + COALESCE(
        (SELECT MAX(position) FROM ledger WHERE site = NEW.site), 0) THEN
        RAISE EXCEPTION 'an entry follows the last of its site';
    END IF;
    RETURN NEW;
END$$""",
)
POSTGRES_GUARDS = {
    "ledger_no_update": "BEFORE UPDATE ON ledger FOR EACH ROW EXECUTE FUNCTION ledger_refuse()",
    "ledger_no_delete": "BEFORE DELETE ON ledger FOR EACH ROW EXECUTE FUNCTION ledger_refuse()",
    "ledger_no_truncate": (
        "BEFORE TRUNCATE ON ledger FOR EACH STATEMENT EXECUTE FUNCTION ledger_refuse()"
    ),
    "ledger_in_order": "BEFORE INSERT ON ledger FOR EACH ROW EXECUTE FUNCTION ledger_follow()",
}


def up(migrator, db):
    if isinstance(db, PostgresqlDatabase):
        for statement in POSTGRES:
            db.execute_sql(statement)
        for name, when in POSTGRES_GUARDS.items():
            db.execute_sql(f"CREATE TRIGGER {name} {when}")
            db.execute_sql(f"ALTER TABLE ledger ENABLE ALWAYS TRIGGER {name}")
        return
    for statement in (SQLITE, SQLITE_HEAD, *SQLITE_GUARDS):
        db.execute_sql(statement)
