"""The command line: every command and its options, and one sentence for whatever goes wrong."""

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import NoReturn

from equip import rulebook
from equip.cli import book, keep, lookback, rules
from equip.cli.call import DONE, OUR_FAULT, UNREADABLE, Call, Unreadable, show
from equip.cli.check import reading as checks
from equip.clock import Clock


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
        checks.Unreadable,
        rulebook.UnknownBook,
        rulebook.MissingRule,
    ) as problem:
        return _say(str(problem), as_json, UNREADABLE)
    except BrokenPipeError:
        return DONE
    except KeyboardInterrupt:
        return DONE
    except Exception as fault:  # the last line of defence: one sentence, never silence
        if _is_refusal(fault):
            return _say(str(fault), as_json, UNREADABLE)
        import traceback

        traceback.print_exc(file=sys.stderr)
        return _say(f"Something broke here: {type(fault).__name__}.", as_json, OUR_FAULT)


def _is_refusal(fault: Exception) -> bool:
    """Whether *fault* is a sentence for the person who asked; imported only once one is there."""
    from equip.desk.act.act import Refused
    from equip.desk.register.import_file import UnreadableFile
    from equip.logs.plain import UnreadableLog
    from equip.scan import UnreadableTag
    from equip.settings.settings import BadSettings
    from equip.store.database import CannotOpen, LedgerUnguarded
    from equip.typed import Mistyped

    mistyped = Mistyped | BadSettings | UnreadableFile | UnreadableLog | UnreadableTag
    return isinstance(fault, mistyped | Refused | CannotOpen | LedgerUnguarded)


def _say(says: str, as_json: bool, status: int) -> int:
    if as_json:
        show({"error": says})
    else:
        print(says, file=sys.stderr)
    return status


def parser() -> argparse.ArgumentParser:
    """Every command and its options."""
    top = _Parser(prog="python app.py", description="The Instrument Book")
    sub = top.add_subparsers(dest="command", required=True, metavar="COMMAND", parser_class=_Parser)

    def add(name: str, run: Callable[[Call], int], help: str) -> argparse.ArgumentParser:
        made = sub.add_parser(name, help=help, description=help)
        made.set_defaults(run=run)
        made.add_argument("--json", action="store_true", help="answer as one JSON object")
        return made

    keep.offer(add)
    rules.offer(add)
    lookback.offer(add)
    book.offer(add)
    _imports(sub.add_parser("import", help="bring in a register, or the past, from a file"))
    return top


def _imports(bring: argparse.ArgumentParser) -> None:
    kinds = bring.add_subparsers(dest="what", required=True, parser_class=_Parser)
    register = kinds.add_parser("register", help="things from a CSV file, all or nothing")
    register.set_defaults(run=keep.import_register)
    register.add_argument("file")
    register.add_argument("--partial", action="store_true", help="take the lines that are good")
    register.add_argument("--json", action="store_true")
    old = kinds.add_parser("past", help="the time before this book from a CSV file, resumable")
    old.set_defaults(run=lookback.import_past)
    old.add_argument("file")
    old.add_argument("--json", action="store_true")
