"""The command line: `pinrail COMMAND ...`.

Exit codes: 0 done; 1 the ship or the board fell short (a failed trial, a disagreement, a sketch
that does not fit); 2 the input is wrong, or this computer lacks what the command needs; 70 a fault
in Pinrail itself, told in one line (PINRAIL_DEBUG=1 shows all of it); 130 stopped by Ctrl-C.

Each command is a module of this package, imported when it is asked for: the help comes at once.
"""

from __future__ import annotations

import os
import sys
from importlib import import_module

# What type checkers take for typing.TYPE_CHECKING, without half of the start-up that typing costs.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence

COMMANDS = {
    "new": "write a ship file to start from",
    "check": "find every mistake in a ship file",
    "sketch": "write the sketch, ready for the board maker's tool",
    "compile": "compile the sketch for its board, and say what it takes of it",
    "upload": "write the sketch into its board, and have the board say who it is",
    "trial": "see whether the ship does what its trials expect",
    "replay": "run a recorded trace through the ship, and draw it",
    "agree": "compare the model with the compiled logic or the firmware on random pulses",
    "prove": "prove what the ship can never do, for every movement of every thumb",
    "compare": "say what changed between two ships, and what the ship does differently",
    "bench": "compare a board on USB with the model while it runs, or be a simulated board",
    "identify": "say what runs on a board, and which ship file it was made from",
    "record": "write what the receiver says and the board does into a trace",
    "learn": "find out what a radio puts out, and write it down for the ship file",
    "force": "put one function of a real ship into one of its states, for a few seconds",
    "power": "size supplies, fuses, wires and connectors, and say how each was come by",
    "papers": "print control card, wiring, circuits and what to check on the first day",
    "demo": "walk the whole way with a starter ship",
}

_HELP = """\
usage: pinrail COMMAND ...

One file describes the ship; Pinrail makes the rest.

commands:
{rows}
  --version  say which Pinrail this is
  --help     this text; after a COMMAND, all about that one, with an example

example:
  pinrail demo --out try-it"""

DONE, FELL_SHORT, WRONG_INPUT, FAULT, STOPPED, NOBODY_READS = 0, 1, 2, 70, 130, 141


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; never raises but SystemExit for --help."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            # A name that this terminal cannot show must not end the work.
            stream.reconfigure(errors="backslashreplace")
    try:
        code = _run(arguments)
        sys.stdout.flush()
    except KeyboardInterrupt:
        print("pinrail: stopped", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:
        # Whoever read our output has left; nothing more can be told, not even at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return NOBODY_READS
    return code


def _run(arguments: list[str]) -> int:
    if not arguments or arguments[0] not in COMMANDS:
        return _without_command(arguments)
    from host_tools.cli.parser import Parser

    name, *rest = arguments
    command = import_module(f"host_tools.cli.{name}")
    parser = Parser(
        prog=f"pinrail {name}",
        description=f"{COMMANDS[name].capitalize()}.",
        epilog=f"example:\n  {command.EXAMPLE}",
    )
    command.add_arguments(parser)
    parser.add_argument("--json", action="store_true", help="print one JSON object, for machines")
    options = parser.parse_args(rest)

    from host_tools.cli.report import Report, run_told

    return run_told(lambda report: int(command.run(options, report)), Report(name, options.json))


def _without_command(arguments: list[str]) -> int:
    """The help, the version, or what is wrong: without a parser, which costs as long to load as
    Python itself.
    """
    first = arguments[0] if arguments else "--help"
    if first in ("-h", "--help"):
        print(_HELP.format(rows="".join(f"  {name:<9}{it}\n" for name, it in COMMANDS.items())))
        return DONE
    if first == "--version":
        from gen import __version__

        print(f"pinrail {__version__}")
        return DONE
    from gen.diagnostics import nearest, show
    from host_tools.cli.parser import usage_error

    usage_error("pinrail", f"there is no command {show(first)}", nearest(first, COMMANDS))
    return WRONG_INPUT
