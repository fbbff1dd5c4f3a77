"""The rungs of the conformance ladder, by name."""
# ruff: noqa: PLC0415 - only the rung that is asked for is loaded

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.boards import Board
    from gen.plan import Plan
    from host_tools.record import Rung

RUNGS = ("model", "logic", "firmware")
"""From the top of the ladder down; each is compared with the one above. The last one is a board, by
the name of its port."""


PROOF = "proof"
"""What proofs reason about, stepped as a rung beside the ladder: no ship runs on it."""


def is_port(name: str) -> bool:
    """Whether this looks like the name of a port: `/dev/ttyUSB0`, `COM3`, `socket://…`."""
    return "/" in name or (name[:3].upper() == "COM" and name[3:].isdecimal())


@contextmanager
def open_rung(name: str, plan: Plan, board: Board) -> Iterator[Rung]:
    """One rung, made ready to run traces and tidied up afterwards.

    Raises RungUnavailable or MissingTool when this computer lacks what the rung needs, LinkError
    when the board on a port is not the one.
    """
    if name == "model":
        from host_tools.model import Model

        yield Model(plan)
    elif name == "logic":
        from gen.render import render
        from host_tools.logic import LogicRung

        with LogicRung(plan, render(plan, board)) as rung:
            yield rung
    elif name == "firmware":
        from gen.render import render
        from host_tools.firmware import FirmwareRung

        with FirmwareRung.of_sketch(plan, board, render(plan, board)) as rung:
            yield rung
    elif name == "proof":
        from host_tools.prove.rung import ProofRung

        yield ProofRung(plan)
    elif is_port(name):
        from host_tools.link.rung import BoardRung

        with BoardRung.on_port(plan, name) as rung:
            yield rung
    else:
        raise ValueError(f"there is no rung {name!r}")
