"""Command lines read in our own grammar of errors."""

from __future__ import annotations

import argparse
import json
import sys
from typing import NoReturn


class Parser(argparse.ArgumentParser):
    """An argument parser that says what is wrong as every other part of Pinrail does."""

    def __init__(self, *, prog: str, description: str, epilog: str, usage: str | None = None):
        super().__init__(
            prog=prog,
            usage=usage,
            description=description,
            epilog=epilog,
            allow_abbrev=False,
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )

    def error(self, message: str) -> NoReturn:
        """Tell one mistake and exit with 2."""
        problem = {"code": "usage", "what": message, "hint": f"{self.prog} --help"}
        if "--json" in sys.argv:
            print(json.dumps({"command": self.prog, "exit": 2, "problems": [problem]}))
        print(f"{self.prog}: error[usage]: {message}\n  hint: {problem['hint']}", file=sys.stderr)
        raise SystemExit(2)
