"""What every command shares: its call, the statuses, the one sentence for input that is wrong.

Status: 0 done or pass, 1 fail, 2 undecided, 64 unreadable, 70 our fault.
"""

import argparse
import json
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from equip import typed
from equip.clock import Clock
from equip.typed import Mistyped

if TYPE_CHECKING:
    from equip.settings.settings import Settings

DONE, FAIL, UNDECIDED, UNREADABLE, OUR_FAULT = 0, 1, 2, 64, 70


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
    def settings(self) -> "Settings":
        from equip.settings.settings import settings_from

        return settings_from(self.environ)


Add = Callable[[str, Callable[[Call], int], str], argparse.ArgumentParser]
"""Adds a command by its name, what runs it and a line of help; its options are added to it."""


def show(answer: Mapping[str, Any]) -> None:
    """Print *answer* as JSON, readable where the terminal can show it, else in plain ASCII."""
    text = json.dumps(answer, ensure_ascii=False)
    try:
        text.encode(sys.stdout.encoding or "utf-8")
    except UnicodeEncodeError:
        text = json.dumps(answer)
    print(text)


def a_day(text: str) -> date:
    """The day of an option."""
    try:
        return typed.day(text)
    except Mistyped as problem:
        raise argparse.ArgumentTypeError(str(problem).removesuffix(".")) from None


def a_whole(text: str) -> int:
    """The whole number of an option."""
    try:
        return typed.whole(text)
    except Mistyped as problem:
        raise argparse.ArgumentTypeError(str(problem).removesuffix(".")) from None
