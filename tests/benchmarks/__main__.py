"""Every figure with its goal: `python -m tests.benchmarks [--long]`.

Ends with 1 where a goal is missed. `--long` compares as many ticks as the goals name, which takes
a quarter of an hour.
"""

from __future__ import annotations

import argparse
import platform
import sys

from tests.benchmarks import firmware_figures, speed
from tests.benchmarks.table import printed


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("--long", action="store_true", help="as many ticks as the goals name")
    parser.add_argument("--firmware", action="store_true", help="only what is measured in cycles")
    chosen = parser.parse_args()

    def tell(what: str) -> None:
        print(f"measuring: {what}", file=sys.stderr, flush=True)

    rows = [] if chosen.firmware else list(speed.all_rows(long_run=chosen.long, tell=tell))
    rows += firmware_figures.all_rows(tell)
    print(f"{platform.machine()}, Python {platform.python_version()}")
    print(printed(rows))
    return 1 if any(row.met is False for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
