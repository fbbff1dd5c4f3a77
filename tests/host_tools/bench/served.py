"""`pinrail bench` as its user starts it: a process of its own, told to open no browser."""

from __future__ import annotations

import contextlib
import re
import subprocess
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

COMMAND = (
    sys.executable,
    "-u",
    "-c",
    "import sys; from host_tools.cli import main; sys.exit(main())",
)

ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+/#\S+")


@contextlib.contextmanager
def served(*arguments: str | Path) -> Iterator[str]:
    """The address that it prints. It ends with the test."""
    bench = subprocess.Popen(
        [*COMMAND, "bench", *map(str, arguments), "--no-open"],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        assert bench.stdout is not None
        said = ""
        for line in bench.stdout:
            said += line
            if found := ADDRESS.search(line):
                yield found.group()
                return
        raise AssertionError(said)
    finally:
        bench.terminate()
        bench.communicate(timeout=20)
