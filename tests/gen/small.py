"""A small ship file for tests to change a word of."""

from __future__ import annotations

from gen.boards import Board, load_board
from gen.diagnostics import Problem, Problems, ShipError
from gen.load import Loaded, load_text
from gen.nodes import parse_nodes
from gen.read.keys import read_record
from gen.resolve import resolve
from gen.ship import Ship

SMALL = """\
ship: Gannet
board: nano
receiver:
  channels: {keys: D2, knobs: D3}
controls:
  key: {from: keys}
  knob: {from: knobs, kind: knob}
outputs:
  relay: {pin: D5}
  winch motor: {lower: D6, raise: D7}
  servo: {pin: D9, kind: servo}
functions:
  lamp: {pulse: key up, for: 2 s, drives: relay}
  davit:
    winch: {lower: key down, raise: key up}
    limit: {lower: 8 s, raise: 9 s}
    drives: winch motor
  arm: {follow: knob, drives: servo}
"""


def changed(*changes: tuple[str, str]) -> str:
    """The small ship with each first text put in the place of the second."""
    text = SMALL
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def small(*changes: tuple[str, str]) -> Loaded:
    """The changed ship, loaded."""
    return load_text(changed(*changes).encode(), "small.yaml")


def problems(*changes: tuple[str, str]) -> list[Problem]:
    """What is wrong with the changed ship."""
    try:
        return small(*changes).problems
    except ShipError as error:
        return error.problems


def on_board(board: Board, *changes: tuple[str, str]) -> Loaded:
    """The changed ship on a board of a test's own."""
    noted = Problems("small.yaml")
    ship = read_record(Ship, parse_nodes(changed(*changes).encode(), noted), "", noted)
    assert ship is not None
    return Loaded(ship, resolve(ship, board, noted, "small.yaml"), board, noted.warnings)


NANO = load_board("nano")
