"""`make test`: say what can be tested here, loudly where something cannot, then run pytest.

The browser tests need a Chromium: the one that is found, or one that the system's package
manager can install. The PostgreSQL tests need EQUIP_TEST_POSTGRES, the URL of a server. With
CI=true nothing may be left out. Files of tests are shared out among the processors; words after
the command go to pytest, so `-n 0` runs all in one process.
"""

import os
import shutil
import subprocess
import sys

from tests.browser.chromium import CHROMIUMS, find

LOUD = "!" * 78
SHARED_OUT = ("-n", "auto", "--dist", "loadfile")


def install_chromium() -> None:
    """Ask the system's package manager, where there is one and we may."""
    apt = shutil.which("apt-get")
    if apt is None or not hasattr(os, "geteuid") or os.geteuid() != 0:
        return
    print("No Chromium here: asking the system's package manager for one …", flush=True)
    for words in (["update", "-qq"], ["install", "-y", "-qq", "chromium"]):
        subprocess.run([apt, *words], check=False, stdout=subprocess.DEVNULL)


def main() -> int:
    """Run everything there is; the status is pytest's."""
    if find() is None:
        install_chromium()
    missing = []
    if find() is None:
        missing.append(
            f"BROWSER TESTS DO NOT RUN: none of {', '.join(CHROMIUMS)} was found. "
            "Install Chromium, or set EQUIP_TEST_CHROMIUM to one."
        )
    if not os.environ.get("EQUIP_TEST_POSTGRES"):
        missing.append("Only SQLite is tested: set EQUIP_TEST_POSTGRES to try PostgreSQL as well.")
    if missing and os.environ.get("CI") == "true":
        print("\n".join(missing), file=sys.stderr)
        return 1
    words = [sys.executable, "-m", "pytest", "-q", *SHARED_OUT, *sys.argv[1:]]
    if find() is None:
        words += ["-m", "not browser"]
    status = subprocess.run(words, check=False).returncode
    for says in missing:
        print(f"{LOUD}\n{says}\n{LOUD}" if says.isupper() or "BROWSER" in says else says)
    return status


if __name__ == "__main__":
    sys.exit(main())
