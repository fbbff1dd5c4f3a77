"""The one way from a ship file to its plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.boards import Board, board_names, load_board
from gen.diagnostics import Problem, Problems, nearest, show
from gen.names import comment
from gen.nodes import parse_nodes, read_nodes
from gen.read.keys import read_record
from gen.resolve import resolve
from gen.ship import Ship

if TYPE_CHECKING:
    from pathlib import Path

    from gen.nodes import MapNode
    from gen.plan import Plan


@dataclass(frozen=True)
class Loaded:
    """A ship file that can be used. `problems` are warnings only."""

    ship: Ship
    plan: Plan
    board: Board
    problems: list[Problem]


def load(path: Path) -> Loaded:
    """Reads, checks and resolves a ship file. Raises ShipError with everything that is wrong."""
    problems = Problems(str(path))
    return _loaded(read_nodes(path, problems), problems, path.name)


def load_text(content: bytes, name: str = "ship.yaml") -> Loaded:
    """The same from a ship file's content; `name` stands for it in messages."""
    problems = Problems(name)
    return _loaded(parse_nodes(content, problems), problems, name)


def _loaded(root: MapNode, problems: Problems, source: str) -> Loaded:
    ship = read_record(Ship, root, "", problems)
    if ship is None:
        problems.stop_on_errors()
        raise AssertionError("a ship that cannot be read has been complained about")
    if ship.board.value not in board_names():
        problems.add(
            "unknown-board",
            ship.board.place,
            "there is no such board",
            got=show(ship.board.text),
            expected=", ".join(board_names()),
            hint=nearest(ship.board.value, board_names(), most_listed=0),
        )
        problems.stop_on_errors()
    board = load_board(ship.board.value)
    plan = resolve(ship, board, problems, comment(source))
    return Loaded(ship, plan, board, problems.warnings)
