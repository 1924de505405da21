"""The demonstration: an invented clinic with 120 days of life, made once, then served."""

import shutil
import sys
from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from equip.clock import Clock
from equip.demo.life import DAYS, Life, MovingClock, live
from equip.installation import Installation, open_installation, serve
from equip.settings.settings import Settings, settings_from
from equip.store.kept import people

# Plain on purpose: this is the demonstration, and its people are invented.
SIGN_INS = {
    "nurse": ("wren alder", "nurse-demo-1", "2468"),
    "manager": ("sol harper", "manager-demo-1", "1357"),
    "auditor": ("iris quill", "auditor-demo-1", ""),
}


def demo(environ: Mapping[str, str], clock: Clock, *, rebuild: bool) -> int:
    """Make the demonstration if there is none, print who may sign in, and serve it."""
    settings = demo_settings(environ)
    if rebuild and settings.data.exists():
        shutil.rmtree(settings.data)
    if not (settings.data / "made").exists():
        make(settings, clock)
    with open_installation(settings, clock) as installation:
        _say_who(installation)
        return serve(installation)


def demo_settings(environ: Mapping[str, str]) -> Settings:
    """The settings of the demonstration: its own folder, its own site, SQLite."""
    settings = settings_from(environ)
    return replace(settings, data=settings.data / "demo", database="", site="DEMO")


def make(settings: Settings, clock: Clock) -> Life:
    """Live the whole life into *settings*' folder; a half-made one is thrown away first."""
    if settings.data.exists():
        shutil.rmtree(settings.data)
    print(f"Making {DAYS} days of an invented clinic; once only …", file=sys.stderr, flush=True)
    end = clock()
    moving = MovingClock(end - timedelta(days=DAYS))
    with open_installation(settings, moving, opened=False) as installation:
        life = live(installation.clinic, moving, end)
        for role, (_, password, pin) in SIGN_INS.items():
            people.keep_secrets(
                installation.clinic.store,
                life.people[role],
                password=password,
                pin=pin,
                pepper=installation.keys.secret,
            )
        installation.keep_heads(end)
    Path(settings.data / "made").touch()
    return life


def _say_who(installation: Installation) -> None:
    print("Sign in as", flush=True)
    for role, (name, password, pin) in SIGN_INS.items():
        or_pin = f"  (or badge and PIN {pin})" if pin else ""
        print(f"  {role:8} {name:12} {password}{or_pin}", flush=True)
