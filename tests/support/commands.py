"""The command line as papers write it: whether a call is taken, and which options a command has."""

import argparse
import re
import shlex

from equip.cli.call import Unreadable
from equip.cli.main import parser


def commands() -> dict[str, argparse.ArgumentParser]:
    """Every command by its name; those of `import` by both words."""
    known = _below(parser())
    for name, one in list(known.items()):
        known |= {f"{name} {inner}": below for inner, below in _below(one).items()}
    return known


def options_of(name: str) -> set[str]:
    """The options that command *name* takes."""
    return set(commands()[name]._option_string_actions)


def parses(call: str) -> bool:
    """Whether `… python app.py WORDS`, as a paper shows it, is a call that the parser takes.

    Settings before it and a pipe into it are passed over.
    """
    words = shlex.split(re.split(r"app\.py ", call, maxsplit=1)[1])
    try:
        parser().parse_args(words)
    except Unreadable:
        return False
    return True


def _below(one: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    found: dict[str, argparse.ArgumentParser] = {}
    for action in one._actions:
        if isinstance(action, argparse._SubParsersAction):
            found.update(action.choices)
    return found
