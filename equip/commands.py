"""The command line. Status: 0 done or pass, 1 fail, 2 undecided, 64 unreadable, 70 our fault."""

import argparse
import json
import sys
import traceback
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, NoReturn

from equip import checks, rulebook, trace_commands
from equip.clock import Clock
from equip.settings import BadSettings, Settings, settings_from
from equip.traces import UnreadableLog

DONE, FAIL, UNDECIDED, UNREADABLE, OUR_FAULT = 0, 1, 2, 64, 70
_BY_VERDICT = {"pass": DONE, "fail": FAIL, "undecided": UNDECIDED}


class Unreadable(ValueError):
    """The command or its input makes no sense; the message is one sentence."""


@dataclass(frozen=True, slots=True)
class Call:
    """One call of the command line: what was asked, the settings, the clock."""

    asked: argparse.Namespace
    environ: Mapping[str, str]
    clock: Clock
    root: Path

    @property
    def settings(self) -> Settings:
        return settings_from(self.environ)


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise Unreadable(f"{message[0].upper()}{message[1:]}. Ask {self.prog} --help.")


def main(words: Sequence[str], environ: Mapping[str, str], clock: Clock, root: Path) -> int:
    """Run one command; whatever goes wrong is one sentence and a status."""
    as_json = "--json" in words
    try:
        asked = parser().parse_args(list(words))
        command: Callable[[Call], int] = asked.run
        return command(Call(asked, environ, clock, root))
    except (
        Unreadable,
        BadSettings,
        checks.Unreadable,
        UnreadableLog,
        rulebook.UnknownBook,
        rulebook.MissingRule,
        trace_commands.BadQuestion,
    ) as problem:
        return _say(str(problem), as_json, UNREADABLE)
    except BrokenPipeError:
        return DONE
    except KeyboardInterrupt:
        return DONE
    except Exception as fault:  # the last line of defence: one sentence, never silence
        if _is_refusal(fault):
            return _say(str(fault), as_json, UNREADABLE)
        traceback.print_exc(file=sys.stderr)
        return _say(f"Something broke here: {type(fault).__name__}.", as_json, OUR_FAULT)


def _is_refusal(fault: Exception) -> bool:
    from equip.desk.acting import Refused
    from equip.desk.importing import UnreadableFile
    from equip.scan import UnreadableTag
    from equip.store.database import CannotOpen, LedgerUnguarded

    known = Refused | UnreadableFile | UnreadableTag | CannotOpen | LedgerUnguarded
    return isinstance(fault, known)


def _say(says: str, as_json: bool, status: int) -> int:
    if as_json:
        show({"error": says})
    else:
        print(says, file=sys.stderr)
    return status


def show(answer: Mapping[str, Any]) -> None:
    """Print *answer* as JSON, readable where the terminal can show it, else in plain ASCII."""
    text = json.dumps(answer, ensure_ascii=False)
    try:
        text.encode(sys.stdout.encoding or "utf-8")
    except UnicodeEncodeError:
        text = json.dumps(answer)
    print(text)


# --- commands without a database --------------------------------------------------------------


def _check(call: Call) -> int:
    given = _asked_in_json()
    rules = rulebook.load(call.asked.book).on(call.asked.on or call.clock().date())
    answer = checks.check(call.asked.kind, given, rules)
    show(answer)
    return DONE if "verdict" not in answer else _BY_VERDICT[answer["verdict"]]


def _asked_in_json() -> dict[str, Any]:
    """The one JSON object on standard input."""
    try:
        text = sys.stdin.read().removeprefix("\ufeff")
        given = json.loads(text, parse_constant=_no_constant, object_pairs_hook=_keys_once)
    except Unreadable:
        raise
    except (ValueError, RecursionError):
        given = None
    if not isinstance(given, dict):
        raise Unreadable("Standard input holds no JSON object: give one, in UTF-8.")
    return given


def _no_constant(name: str) -> NoReturn:
    raise Unreadable(f"{name} is no number: give a finite value.")


def _keys_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    given = dict(pairs)
    if len(given) < len(pairs):
        raise Unreadable("A key is given twice: give each once, for only one of them can count.")
    return given


def _judge(call: Call) -> int:
    asked = call.asked
    answer = checks.judge_log(
        Path(asked.log),
        programme=asked.programme,
        book=rulebook.load(asked.book),
        on=asked.on or call.clock().date(),
        uncertainty=asked.uncertainty,
        band_width=asked.band_width,
        chamber_litres=asked.chamber_litres,
        layout=Path(asked.layout) if asked.layout else None,
    )
    if asked.json:
        show(answer)
    else:
        print({"pass": "Passed", "fail": "Failed"}.get(answer["verdict"], "Cannot be judged"))
        for reason in answer["reasons"]:
            print(f"  {reason['says']}")
    return _BY_VERDICT[answer["verdict"]]


# --- commands with the book -------------------------------------------------------------------


def _serve(call: Call) -> int:
    from equip.house import open_house, serve

    with open_house(call.settings, call.clock) as house:
        return serve(house)


def _demo(call: Call) -> int:
    from equip.demo import demo

    return demo(call.environ, call.clock, rebuild=call.asked.fresh)


def _first_manager(call: Call) -> int:
    from equip.house import add_manager, open_house

    with open_house(call.settings, call.clock) as house:
        tag = add_manager(house, call.asked.name, sys.stdin.readline().rstrip("\n"))
    print(f"{call.asked.name} signs in by name or by badge {tag}.")
    return DONE


def _import_register(call: Call) -> int:
    from equip.house import import_register, open_house

    path = Path(call.asked.file)
    if not path.is_file():
        raise Unreadable(f"There is no file {path}.")
    with open_house(call.settings, call.clock) as house:
        found, taken = import_register(house, path.read_bytes(), partial=call.asked.partial)
    if call.asked.json:
        faults = [{"line": p.line, "says": p.says} for p in found.problems]
        show({"taken": taken, "faults": faults})
    else:
        for problem in found.problems:
            print(f"Line {problem.line}: {problem.says}")
        print(f"{len(taken)} things are on the register now; {len(found.problems)} faults.")
    return UNREADABLE if found.problems and not call.asked.partial else DONE


def _history(call: Call) -> int:
    from equip.desk import history
    from equip.house import open_house

    asked = call.asked
    with open_house(call.settings, call.clock) as house:
        subject = history.find(
            house.clinic, asked.patient or asked.item or asked.load or asked.person
        )
        page = history.page(house.clinic, subject)
        zone = house.clinic.house.zone
    if asked.json:
        show(
            {
                "subject": page.subject,
                "title": page.title,
                "lines": [
                    {
                        "at": line.at.isoformat(),
                        "recorded_at": line.recorded_at.isoformat(),
                        "path": line.path,
                        "kind": line.kind,
                        "says": line.text,
                        "who": line.who,
                        "withdrawn": line.withdrawn,
                    }
                    for line in page.lines
                ],
                "uses": len(page.touches),
                "gaps": [
                    {
                        "item": t.item,
                        "patient": t.patient,
                        "used_at": t.at.isoformat(),
                        "says": t.gap,
                    }
                    for t in page.touches
                    if t.gap
                ],
            }
        )
        return DONE
    print(page.title)
    for says in page.says:
        print(says)
    marks = {"gate": "=", "doubt": "!", "no": "-"}
    for line in page.lines:
        mark = "~" if line.withdrawn else marks.get(line.margin, " ")
        when = f"{line.at.astimezone(zone):%Y-%m-%d %H:%M}"
        print(f"{mark} {when}  {line.text}  [{line.path}] {line.who}")
    return DONE


def _import_past(call: Call) -> int:
    summary, faults = trace_commands.import_past(call.settings, call.clock, Path(call.asked.file))
    if call.asked.json:
        if faults:
            show({"error": f"{len(faults)} faults: nothing was taken in.", "faults": faults})
        else:
            show(summary)
    elif faults:
        for fault in faults:
            print(f"Line {fault['line']}: {fault['says']}")
        print(f"{len(faults)} faults: nothing was taken in.")
    else:
        print(
            f"{summary['added']} of {summary['rows']} lines were taken in, {summary['already']} "
            f"were here already: {summary['items']} things, {summary['loads']} loads."
        )
        print(
            f"By what they say, {summary['exposed']} uses followed another patient with nothing "
            f"between that cleared the thing, and {summary['gaps']} have nothing known before "
            "them. Loads that the file does not name count as none."
        )
    return UNREADABLE if faults else DONE


def _look_back(call: Call) -> int:
    answer = trace_commands.look_back(call.settings, call.clock, call.asked)
    if call.asked.json:
        show(answer)
        return DONE
    for one in answer["exposures"]:
        whom = ", ".join(f"{s['patient'] or 'outside'} {s['used_at']}" for s in one["sources"])
        print(
            f"{one['used_at']}  {one['item']} on {one['patient']}: {one['certainty']}, after {whom}"
        )
    print(
        f"{answer['patients']} patients in {answer['uses']} uses; "
        f"{len(answer['already_open'])} uses were open without this doubt; "
        f"{len(answer['gaps'])} of those looked at have nothing known before them."
    )
    return DONE


def _proof(call: Call) -> int:
    answer = trace_commands.proof(call.settings, call.clock, call.asked)
    if call.asked.json:
        show(answer)
    else:
        print(
            f"{answer['patients']} patients in {answer['uses']} uses. The proof file is in "
            f"{answer['file']}. Keep its digest apart from it:\n{answer['digest']}"
        )
    return DONE


def _exposed_now(call: Call) -> int:
    answer = trace_commands.exposed_now(call.settings, call.clock)
    if call.asked.json:
        show(answer)
    else:
        share = answer["traceable"]
        known = "no use yet" if share is None else f"{share:.1%} of {answer['uses']} uses traceable"
        print(f"{answer['exposed']} uses exposed now, {answer['exposed_ever']} ever; {known}.")
    return DONE


def _record(call: Call) -> int:
    from equip.desk.record import load_named, record_pdf
    from equip.house import open_house

    path = Path(call.asked.out)
    with open_house(call.settings, call.clock) as house:
        load = load_named(house.clinic, call.asked.load)
        data = record_pdf(house.clinic, load, call.clock())
    try:
        path.write_bytes(data)
    except OSError as fault:
        raise Unreadable(f"{path} cannot be written ({fault.strerror}): name another.") from None
    if call.asked.json:
        show({"load": load.load, "verdict": load.verdict, "file": str(path), "bytes": len(data)})
    else:
        print(f"The cycle record of load {load.load} is in {path}.")
    return DONE


def _due(call: Call) -> int:
    from equip.desk.due_answers import answered
    from equip.desk.duties import due, may_override
    from equip.house import open_house

    if call.asked.within is not None and call.asked.within < 0:
        raise Unreadable("--within cannot be below nought: give a number of days.")
    with open_house(call.settings, call.clock) as house:
        on = call.asked.on or house.clinic.house.today(call.clock())
        found = due(house.clinic, on, call.asked.within, expect=True)
        names = may_override(house.clinic)
    if call.asked.json:
        show({"on": on.isoformat(), "due": [answered(d, names) for d in found]})
    else:
        for d in found:
            day = d.next_due.isoformat() if d.has_day else "by count  "
            print(f"{day}  {d.standing:8}{d.duty}: {d.label}")
    return DONE


def _verify(call: Call) -> int:
    from equip.house import open_house, proof_of

    with open_house(call.settings, call.clock, guarded=False) as house:
        proof = proof_of(house, chain_only=call.asked.chain)
    fault = proof.fault
    if call.asked.json:
        show(
            {
                "verdict": "pass" if proof.whole else "fail",
                "entries": proof.entries,
                "heads": proof.heads,
                "fault": None
                if fault is None
                else {"site": fault.site, "position": fault.position, "says": fault.says},
                "unguarded": list(proof.unguarded),
                "projections": list(proof.projections),
            }
        )
    else:
        if fault is not None:
            print(f"Broken at {fault.site}/{fault.position}: {fault.says}")
        for says in (*proof.unguarded, *proof.projections):
            print(says)
        if proof.whole:
            what = "every seal agrees" if call.asked.chain else "every seal and every table agrees"
            print(f"{proof.entries} entries: {what}.")
    return DONE if proof.whole else FAIL


def _rebuild(call: Call) -> int:
    from equip.house import open_house
    from equip.store.refolding import rebuild

    with open_house(call.settings, call.clock) as house:
        print(f"{rebuild(house.clinic.store)} entries folded again.")
    return DONE


def _a_day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None or day.isoformat() != text:
        raise argparse.ArgumentTypeError(f"“{text}” is no date; write it as 2026-03-31")
    return day


def parser() -> argparse.ArgumentParser:
    """Every command and its options."""
    top = _Parser(prog="python app.py", description="The Instrument Book")
    sub = top.add_subparsers(dest="command", required=True, metavar="COMMAND", parser_class=_Parser)

    def add(name: str, run: Callable[[Call], int], help: str) -> argparse.ArgumentParser:
        made = sub.add_parser(name, help=help, description=help)
        made.set_defaults(run=run)
        made.add_argument("--json", action="store_true", help="answer as one JSON object")
        return made

    add("serve", _serve, "serve the clinic's book to browsers and scanners")
    demo = add("demo", _demo, "serve an invented clinic with 120 days of life in it")
    demo.add_argument("--fresh", action="store_true", help="make its book anew")
    check = add("check", _check, "one JSON object in, one out: check any figure")
    check.add_argument("kind", choices=sorted(checks.KINDS), metavar="KIND")
    _rules_options(check)
    judge = add("judge", _judge, "judge the log of a cycle")
    judge.add_argument("log")
    judge.add_argument("--programme", required=True)
    _rules_options(judge)
    judge.add_argument("--uncertainty", metavar="K", help="of the sensor, in kelvin")
    judge.add_argument("--band-width", metavar="K", help="in place of the rule book's, in kelvin")
    judge.add_argument("--chamber-litres", metavar="N", help="24 if not told")
    judge.add_argument("--layout", metavar="FILE", help="how the machine writes its log, as JSON")
    person = add(
        "manager", _first_manager, "add a practice manager; the password is read from stdin"
    )
    person.add_argument("name")
    bring = sub.add_parser("import", help="bring in a register from a file")
    kinds = bring.add_subparsers(dest="what", required=True, parser_class=_Parser)
    register = kinds.add_parser("register", help="things from a CSV file, all or nothing")
    register.set_defaults(run=_import_register)
    register.add_argument("file")
    register.add_argument("--partial", action="store_true", help="take the lines that are good")
    register.add_argument("--json", action="store_true")
    old = kinds.add_parser("past", help="the time before this book from a CSV file, resumable")
    old.set_defaults(run=_import_past)
    old.add_argument("file")
    old.add_argument("--json", action="store_true")
    doubt = add(
        "lookback", _look_back, "who may have been exposed by a load, a person, a patient …"
    )
    trace_commands.look_back_options(doubt)
    given = add("proof", _proof, "the answer of lookback as a file that anybody can check offline")
    trace_commands.look_back_options(given)
    given.add_argument("--out", required=True, metavar="FILE.zip")
    add("exposed-now", _exposed_now, "uses exposed on present knowledge that nobody has decided")
    past = add("history", _history, "the logbook of a patient, an item, a load or a person")
    subject = past.add_mutually_exclusive_group(required=True)
    for name in ("patient", "item", "load", "person"):
        subject.add_argument(f"--{name}")
    paper = add("record", _record, "the cycle record of a load as PDF")
    paper.add_argument("load", metavar="LOAD")
    paper.add_argument("--out", required=True, metavar="FILE.pdf")
    falls = add("due", _due, "what falls due, overdue first")
    falls.add_argument("--on", type=_a_day)
    falls.add_argument("--within", type=int, metavar="DAYS")
    proof = add("verify", _verify, "prove that nothing in the ledger was altered")
    proof.add_argument("--chain", action="store_true", help="the seals alone")
    add("rebuild", _rebuild, "fold every table again from the ledger")
    return top


def _rules_options(made: argparse.ArgumentParser) -> None:
    made.add_argument("--book", default=rulebook.DEFAULT, metavar="|".join(rulebook.BOOKS))
    made.add_argument("--on", type=_a_day, metavar="DATE")
