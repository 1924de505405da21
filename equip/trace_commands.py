"""The command line's questions of exposure, and the past brought in from a file."""

import argparse
import sys
from datetime import datetime
from pathlib import Path
from typing import Any

from equip.clock import Clock
from equip.settings import Settings


class BadQuestion(ValueError):
    """A question that makes no sense; the message says what was read and what to do."""


def look_back_options(made: argparse.ArgumentParser) -> None:
    """What a look-back may be asked by."""
    by = made.add_mutually_exclusive_group(required=True)
    by.add_argument("--load", action="append", metavar="NO", help="in doubt; may be repeated")
    by.add_argument("--machine", metavar="M", help="its loads --from A --to B")
    by.add_argument("--patient", metavar="REF", help="whom this patient may have exposed")
    by.add_argument("--item", metavar="I", help="what was done to it --from A on")
    by.add_argument("--who", metavar="P", help="what this person did --from A --to B")
    by.add_argument("--lot", metavar="L", help="what this lot was used in")
    made.add_argument("--from", dest="since", metavar="A", help="a time with its offset")
    made.add_argument("--to", dest="until", metavar="B", help="a time with its offset")
    made.add_argument(
        "--hazard", default="bacteria-viruses", metavar="bacteria-viruses|spores|prions"
    )
    made.add_argument("--generations", type=int, default=1, metavar="N")
    made.add_argument("--references", action="store_true", help="name patients; it is recorded")
    made.add_argument("--reason", default="", metavar="TEXT")


def look_back(settings: Settings, clock: Clock, asked: argparse.Namespace) -> dict[str, Any]:
    """The answer to one question of exposure."""
    from equip.desk import trace_answers
    from equip.house import open_house

    _check(asked)
    with open_house(settings, clock) as house:
        clinic = house.clinic
        answer = _answer(clinic, asked)
        references: dict[str, str] = {}
        if asked.references:
            tokens = trace_answers.tokens_in(answer)
            references = trace_answers.unmasked(clinic, tokens, asked.reason)
        names = trace_answers.Names(clinic, references)
        return trace_answers.of_answer(answer, names, _echo(asked))


def proof(settings: Settings, clock: Clock, asked: argparse.Namespace) -> dict[str, Any]:
    """The answer to one question of exposure, written to a file with what proves it."""
    from equip.desk import proof_file
    from equip.house import open_house

    _check(asked)
    path = Path(asked.out)
    if path.is_dir() or not path.parent.is_dir():
        raise BadQuestion(f"{path} cannot be written: name a file in a folder that is there.")
    with open_house(settings, clock) as house:
        clinic = house.clinic
        echo = _echo(asked)
        word = f"by {'person' if asked.who else next(iter(echo))}"
        question = proof_file.Question(echo, word, _answer(clinic, asked))
        given = proof_file.give(clinic, question, "", asked.references, asked.reason)
    try:
        path.write_bytes(given.made.data)
    except OSError as fault:
        raise BadQuestion(f"{path} cannot be written ({fault.strerror}): name another.") from None
    return {
        "file": str(path),
        "bytes": len(given.made.data),
        "digest": given.made.digest,
        "trees": [{"site": t.site, "size": t.size, "root": t.root} for t in given.trees],
        "uses": len(question.answer.exposures),
        "patients": len({one.patient for one in question.answer.exposures}),
    }


def _check(asked: argparse.Namespace) -> None:
    """BadQuestion for what can be seen to be wrong before the book is opened."""
    from equip.rules.gating import HAZARDS

    if asked.hazard not in HAZARDS:
        raise BadQuestion(f"The hazard “{asked.hazard}” was read: it is {', '.join(HAZARDS)}.")
    if not 1 <= asked.generations <= 20:
        raise BadQuestion(f"{asked.generations} generations were read: give 1 to 20.")
    if asked.references and not asked.reason.strip():
        raise BadQuestion("Naming patients needs --reason: it is written down.")


def _answer(clinic: Any, asked: argparse.Namespace) -> Any:
    from equip.desk import tracing

    return tracing.look_back(clinic, _scope(clinic, asked), asked.hazard, asked.generations)


def _scope(clinic: Any, asked: argparse.Namespace) -> Any:
    from equip.desk import tracing

    since, until = _time(asked.since, "--from"), _time(asked.until, "--to")
    if since and until and until < since:
        raise BadQuestion(f"The time ends ({until}) before it begins ({since}).")
    if asked.load:
        return tracing.Scope(loads=tuple(tracing.load_named(clinic, one) for one in asked.load))
    if asked.lot:
        return tracing.of_lot(clinic, tracing.lot_named(clinic, asked.lot))
    if asked.patient:
        token = clinic.vault.find(asked.patient)
        if token is None and asked.patient.startswith("t"):
            token = asked.patient
        if token is None:
            raise BadQuestion("No patient goes by that reference here: check the spelling.")
        return tracing.Scope(patient=token, since=since, until=until)
    if since is None:
        raise BadQuestion("Give --from: a time with its offset, as 2026-02-04T00:00:00+00:00.")
    if asked.item:
        return tracing.of_item(clinic, tracing.item_named(clinic, asked.item), since)
    if until is None:
        raise BadQuestion("Give --to: a time with its offset, as 2026-02-06T00:00:00+00:00.")
    if asked.machine:
        machine = tracing.item_named(clinic, asked.machine, "D")
        return tracing.of_machine(clinic, machine, since, until)
    return tracing.of_person(clinic, tracing.person_named(clinic, asked.who), since, until)


def _time(text: str | None, name: str) -> datetime | None:
    if text is None:
        return None
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise BadQuestion(
            f"{name}: “{text}” is no time; 2026-02-04T00:00:00+00:00 is one."
        ) from None
    if found.tzinfo is None:
        raise BadQuestion(f"{name}: “{text}” needs an offset from UTC, as +00:00.")
    return found


def _echo(asked: argparse.Namespace) -> dict[str, Any]:
    """The question as it was asked; a patient's reference is not repeated."""
    kept = {
        "load": asked.load,
        "machine": asked.machine,
        "item": asked.item,
        "who": asked.who,
        "lot": asked.lot,
        "from": asked.since,
        "to": asked.until,
    }
    said = {name: value for name, value in kept.items() if value is not None}
    if asked.patient is not None:
        said["patient"] = "as asked"
    return {**said, "hazard": asked.hazard, "generations": asked.generations}


def exposed_now(settings: Settings, clock: Clock) -> dict[str, Any]:
    from equip.desk import trace_answers
    from equip.house import open_house

    with open_house(settings, clock) as house:
        return trace_answers.exposed_now(house.clinic)


def import_past(
    settings: Settings, clock: Clock, path: Path
) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """A file of the past taken in; the summary, or every fault and nothing taken."""
    from equip.desk import past
    from equip.desk.importing import UnreadableFile
    from equip.desk.past_file import read_past
    from equip.house import open_house

    if not path.is_file():
        raise BadQuestion(f"There is no file {path}.")
    data = path.read_bytes()
    try:
        found = read_past(data)
    except UnreadableFile as problem:
        raise BadQuestion(str(problem)) from None
    with open_house(settings, clock) as house:
        faults = [{"line": one.line, "says": one.says} for one in found.problems]
        faults += [
            {"line": line, "says": says}
            for line, says in past.problems_in(house.clinic, found.rows)
        ]
        if faults:
            return {}, sorted(faults, key=lambda one: int(one["line"]))
        summary = past.bring_in(house.clinic, found.rows, data, path.name, _progress)
    return {
        "rows": summary.rows,
        "added": summary.added,
        "already": summary.already,
        "items": summary.items,
        "loads": summary.loads,
        "patients": summary.patients,
    }, []


def _progress(done: int, of: int) -> None:
    if sys.stderr.isatty():
        sys.stderr.write(f"\r{done:,} of {of:,} lines")
        if done == of:
            sys.stderr.write("\n")
        sys.stderr.flush()
