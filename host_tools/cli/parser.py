"""Command lines read in our own grammar of errors."""

from __future__ import annotations

import argparse
import sys

TYPE_CHECKING = False  # see host_tools/cli/__init__.py
if TYPE_CHECKING:
    from typing import NoReturn


class Parser(argparse.ArgumentParser):
    """An argument parser that says what is wrong as every other part of Pinrail does."""

    def __init__(self, *, prog: str, description: str, epilog: str) -> None:
        super().__init__(
            prog=prog,
            description=description,
            epilog=epilog,
            allow_abbrev=False,
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )

    def error(self, message: str) -> NoReturn:
        """Tell one mistake and exit with 2."""
        usage_error(self.prog, message, f"{self.prog} --help")
        raise SystemExit(2)


def usage_error(command: str, what: str, hint: str) -> None:
    """Tell what is wrong with a command line."""
    if "--json" in sys.argv:
        import json

        problem = {"code": "usage", "what": what, "hint": hint}
        print(json.dumps({"command": command, "problems": [problem], "exit": 2}, indent=1))
    else:
        from gen.diagnostics import harmless

        print(harmless(f"{command}: error[usage]: {what}\n  hint: {hint}", "\n"), file=sys.stderr)
