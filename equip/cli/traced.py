"""Questions of exposure as the command line asks them, answered; and the past brought in."""

import argparse
import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from equip.clock import Clock
from equip.settings.settings import Settings

if TYPE_CHECKING:
    from equip.desk.lookback.exposure_question import Question


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
    made.add_argument("--generations", default="1", metavar="N")
    made.add_argument("--references", action="store_true", help="name patients; it is recorded")
    made.add_argument("--reason", default="", metavar="TEXT")


def look_back(settings: Settings, clock: Clock, asked: argparse.Namespace) -> dict[str, Any]:
    """The answer to one question of exposure."""
    from equip.desk.lookback import exposure_json, exposure_question
    from equip.installation import open_installation

    question = _question(asked)
    with open_installation(settings, clock) as installation:
        clinic = installation.clinic
        answer = exposure_question.whole_answer(clinic, question)
        references: dict[str, str] = {}
        if asked.references:
            tokens = exposure_json.tokens_in(answer)
            references = exposure_json.unmasked(clinic, tokens, asked.reason)
        names = exposure_json.Names(clinic, references)
        return exposure_json.of_answer(answer, names, dict(question.said))


def proof(settings: Settings, clock: Clock, asked: argparse.Namespace) -> dict[str, Any]:
    """The answer to one question of exposure, written to a file with what proves it."""
    from equip.desk.lookback import exposure_question
    from equip.desk.lookback.proof import proof_file
    from equip.installation import open_installation

    read = _question(asked)
    path = Path(asked.out)
    if path.is_dir() or not path.parent.is_dir():
        raise BadQuestion(f"{path} cannot be written: name a file in a folder that is there.")
    with open_installation(settings, clock) as installation:
        clinic = installation.clinic
        word = f"by {'person' if read.by == 'who' else read.by}"
        answer = exposure_question.whole_answer(clinic, read)
        question = proof_file.Question(dict(read.said), word, answer)
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


def _question(asked: argparse.Namespace) -> "Question":
    """The question, read before the book is opened."""
    from equip.desk.lookback import exposure_question

    if asked.references and not asked.reason.strip():
        raise BadQuestion("Naming patients needs --reason: it is written down.")
    options = {
        "load": asked.load,
        "machine": [asked.machine],
        "patient": [asked.patient],
        "item": [asked.item],
        "who": [asked.who],
        "lot": [asked.lot],
        "from": [asked.since],
        "to": [asked.until],
        "hazard": [asked.hazard],
        "generations": [asked.generations],
    }
    given = {
        name: [value for value in values or () if value is not None]
        for name, values in options.items()
    }
    return exposure_question.read_question(given, exposure_question.ON_COMMAND_LINE)


def exposed_now(settings: Settings, clock: Clock) -> dict[str, Any]:
    from equip.desk.lookback import exposure_json
    from equip.installation import open_installation

    with open_installation(settings, clock) as installation:
        return exposure_json.exposed_now(installation.clinic)


@contextmanager
def _no_search_for_rings() -> Iterator[None]:
    """Python's search for objects that hold each other stands still.

    It goes through all lines of a long file again and again, and they hold nothing that holds
    them: a sixth of the time for no memory.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


@_no_search_for_rings()
def import_past(
    settings: Settings, clock: Clock, path: Path
) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """A file of the past taken in; the summary, or every fault and nothing taken."""
    from equip.desk.past import bring_in
    from equip.desk.past.file import read_past
    from equip.desk.register.import_file import UnreadableFile
    from equip.installation import open_installation

    if not path.is_file():
        raise BadQuestion(f"There is no file {path}.")
    data = path.read_bytes()
    try:
        found = read_past(data)
    except UnreadableFile as problem:
        raise BadQuestion(str(problem)) from None
    with open_installation(settings, clock) as installation:
        faults = [{"line": one.line, "says": one.says} for one in found.problems]
        faults += [
            {"line": line, "says": says}
            for line, says in bring_in.problems_in(installation.clinic, found.rows)
        ]
        if faults:
            return {}, sorted(faults, key=lambda one: int(one["line"]))
        summary = bring_in.bring_in(installation.clinic, found.rows, data, path.name, _progress)
    return {
        "rows": summary.rows,
        "added": summary.added,
        "already": summary.already,
        "items": summary.items,
        "loads": summary.loads,
        "patients": summary.patients,
        "exposed": summary.exposed,
        "gaps": summary.gaps,
    }, []


def _progress(done: int, of: int) -> None:
    if sys.stderr.isatty():
        sys.stderr.write(f"\r{done:,} of {of:,} lines")
        if done == of:
            sys.stderr.write("\n")
        sys.stderr.flush()
