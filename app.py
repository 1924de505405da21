"""Composition and command line: the environment becomes settings, the parts are put together."""

import os
import sys
from pathlib import Path

from equip.cli.main import main
from equip.clock import utc_now

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:], os.environ, utc_now, Path(__file__).resolve().parent))
