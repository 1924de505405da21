"""Commands that ask about exposure, and the past brought in: what each asks, answers and prints."""

import argparse
import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from equip.cli.call import DONE, UNREADABLE, Add, Call, Unreadable, show
from equip.rules.wording import counted

if TYPE_CHECKING:
    from equip.desk.lookback.exposure_question import ExposureQuestion


def offer(add: Add) -> None:
    """The commands of this module, with their options."""
    asks = "who may have been exposed by a load, a person, a patient …"
    _question_options(add("lookback", look_back, asks))
    given = add("proof", proof, "the answer of lookback as a file that anybody can check offline")
    _question_options(given)
    given.add_argument("--out", required=True, metavar="FILE.zip")
    asks = "uses exposed on present knowledge that nobody has decided"
    add("exposed-now", exposed_now, asks)


def _question_options(made: argparse.ArgumentParser) -> None:
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


# --- a look-back -----------------------------------------------------------------------------


def look_back(call: Call) -> int:
    answer = _looked_back(call)
    if call.asked.json:
        show(answer)
        return DONE
    for exposed in answer["exposures"]:
        sources = exposed["sources"]
        whom = ", ".join(f"{s['patient'] or 'outside'} {s['used_at']}" for s in sources)
        when, sure = exposed["used_at"], exposed["certainty"]
        print(f"{when}  {exposed['item']} on {exposed['patient']}: {sure}, after {whom}")
    print(
        f"{counted(answer['patients'], 'patient')} in {counted(answer['uses'], 'use')}. Open "
        f"without this doubt: {counted(len(answer['already_open']), 'use')}. Of those looked at, "
        f"with nothing known before: {counted(len(answer['gaps']), 'use')}."
    )
    return DONE


def _looked_back(call: Call) -> dict[str, Any]:
    """The answer to one question of exposure."""
    from equip.desk.lookback import exposure_json, exposure_question
    from equip.installation import open_installation

    question = _question(call.asked)
    with open_installation(call.settings, call.clock) as installation:
        clinic = installation.clinic
        answer = exposure_question.whole_answer(clinic, question)
        references: dict[str, str] = {}
        if call.asked.references:
            tokens = exposure_json.tokens_in(answer)
            references = exposure_json.unmasked(clinic, tokens, call.asked.reason)
        names = exposure_json.AnswerNames(clinic, references)
        return exposure_json.of_answer(answer, names, dict(question.said))


def proof(call: Call) -> int:
    answer = _proven(call)
    if call.asked.json:
        show(answer)
    else:
        print(
            f"{counted(answer['patients'], 'patient')} in {counted(answer['uses'], 'use')}. "
            f"The proof file is in {answer['file']}. Keep its digest apart from it:\n"
            f"{answer['digest']}"
        )
    return DONE


def _proven(call: Call) -> dict[str, Any]:
    """The answer to one question of exposure, written to a file with what proves it."""
    from equip.desk.lookback import exposure_question
    from equip.desk.lookback.proof import proof_file
    from equip.installation import open_installation

    read = _question(call.asked)
    path = Path(call.asked.out)
    if path.is_dir() or not path.parent.is_dir():
        raise Unreadable(f"{path} cannot be written: name a file in a folder that is there.")
    with open_installation(call.settings, call.clock) as installation:
        clinic = installation.clinic
        word = f"by {'person' if read.by == 'who' else read.by}"
        answer = exposure_question.whole_answer(clinic, read)
        question = proof_file.ProofQuestion(dict(read.said), word, answer)
        given = proof_file.give(clinic, question, "", call.asked.references, call.asked.reason)
    try:
        path.write_bytes(given.made.data)
    except OSError as fault:
        raise Unreadable(f"{path} cannot be written ({fault.strerror}): name another.") from None
    return {
        "file": str(path),
        "bytes": len(given.made.data),
        "digest": given.made.digest,
        "trees": [{"site": t.site, "size": t.size, "root": t.root} for t in given.trees],
        "uses": len(question.answer.exposures),
        "patients": len({one.patient for one in question.answer.exposures}),
    }


def _question(asked: argparse.Namespace) -> "ExposureQuestion":
    """The question, read before the book is opened."""
    from equip.desk.lookback import exposure_question

    if asked.references and not asked.reason.strip():
        raise Unreadable("Naming patients needs --reason: it is written down.")
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


def exposed_now(call: Call) -> int:
    answer = _exposed_now(call)
    if call.asked.json:
        show(answer)
    else:
        share = answer["traceable"]
        uses = counted(answer["uses"], "use")
        known = "No use yet" if share is None else f"Traceable: {share:.1%} of {uses}"
        print(f"Exposed now: {answer['exposed']}. Ever: {answer['exposed_ever']}. {known}.")
    return DONE


def _exposed_now(call: Call) -> dict[str, Any]:
    from equip.desk.lookback import exposure_json
    from equip.installation import open_installation

    with open_installation(call.settings, call.clock) as installation:
        return exposure_json.exposed_now(installation.clinic)


# --- the past ---------------------------------------------------------------------------------


def import_past(call: Call) -> int:
    summary, faults = _brought_in(call)
    refused = f"{counted(len(faults), 'fault')}: nothing was taken in."
    if call.asked.json:
        if faults:
            show({"error": refused, "faults": faults})
        else:
            show(summary)
    elif faults:
        for fault in faults:
            print(f"Line {fault['line']}: {fault['says']}")
        print(refused)
    else:
        print(
            f"Taken in: {summary['added']} of {counted(summary['rows'], 'line')}, "
            f"{summary['already']} were here already. New: {counted(summary['items'], 'thing')}, "
            f"{counted(summary['loads'], 'load')}."
        )
        print(
            "By what they say, uses that follow another patient with nothing between that cleared "
            f"the thing: {summary['exposed']}; uses with nothing known before them: "
            f"{summary['gaps']}. A load that no line names counts as none."
        )
    return UNREADABLE if faults else DONE


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
def _brought_in(call: Call) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """A file of the past taken in; the summary, or every fault and nothing taken."""
    from equip.desk.past import bring_in
    from equip.desk.past.file import read_past
    from equip.desk.register.import_file import UnreadableFile
    from equip.installation import open_installation

    path = Path(call.asked.file)
    if not path.is_file():
        raise Unreadable(f"There is no file {path}.")
    data = path.read_bytes()
    try:
        found = read_past(data)
    except UnreadableFile as problem:
        raise Unreadable(str(problem)) from None
    with open_installation(call.settings, call.clock) as installation:
        faults = [{"line": one.line, "says": one.says} for one in found.problems]
        faults += [
            {"line": line, "says": says}
            for line, says in bring_in.problems_in(installation.clinic, found.rows)
        ]
        if faults:
            return {}, sorted(faults, key=lambda fault: int(fault["line"]))
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
