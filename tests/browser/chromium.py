"""A real Chromium for the browser tests: where it is, and how it is started."""

import os
import shutil

CHROMIUMS = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def find() -> str | None:
    """The path of a Chromium, None if there is none."""
    named = os.environ.get("EQUIP_TEST_CHROMIUM")
    if named:
        return named if os.path.exists(named) else None  # noqa: PTH110
    return next((path for name in CHROMIUMS if (path := shutil.which(name))), None)
