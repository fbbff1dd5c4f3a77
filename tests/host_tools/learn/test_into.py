"""Learned sections put into ship files: comments, order and everything else stay as they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.diagnostics import Problems
from gen.nodes import parse_nodes
from host_tools.cli.ships import starters
from host_tools.learn.fitting import entries, find, fitted, text_of
from host_tools.learn.into import CannotPlace, put_into
from host_tools.learn.text import Entry, Sections, quoted

if TYPE_CHECKING:
    from pathlib import Path

SHIP = """\
# The ferry of the upper lake, invented.
receiver:                       # grey box under the deck
  lost after: 400 ms            # it dithers
  channels:
    deck keys:  D4              # white plug
    wheel:
      pin: D2
      lost below: 930 us        # by its failsafe
controls:
  # the left thumb
  deck key: {from: deck keys,   # springs back
             settle: 4 pulses}
  helm: {from: wheel, kind: stick}
ship: Dabchick
board: nano
"""


def comments(text: str) -> list[str]:
    return [line.partition("#")[2] for line in text.splitlines() if "#" in line]


def channel(name: str, **keys: str) -> Entry:
    return Entry(name, {key.replace("_", " "): text for key, text in keys.items()})


def test_only_what_was_learned_changes() -> None:
    made = put_into(
        SHIP.encode(),
        Sections(
            {"lost after": "350 ms"},
            (channel("deck keys", lost_below="905 us"), channel("wheel", lost_below="911 us"),
             channel("box", pin="D8", shares="8 slots", marker="below 950 us")),
            (channel("deck key", settle="3 pulses", hysteresis="12 us"),
             channel("helm", centre="1503 us"), channel("new", **{"from": "box"}, slot="1")),
        ),
        "ferry.yaml",
    )  # fmt: skip
    assert (
        made
        == """\
# The ferry of the upper lake, invented.
receiver:                       # grey box under the deck
  lost after: 350 ms            # it dithers
  channels:
    deck keys:  {pin: D4, lost below: 905 us}              # white plug
    wheel:
      pin: D2
      lost below: 911 us        # by its failsafe
    box: {pin: D8, shares: 8 slots, marker: below 950 us}
controls:
  # the left thumb
  deck key: {from: deck keys,   # springs back
             settle: 3 pulses, hysteresis: 12 us}
  helm: {from: wheel, kind: stick, centre: 1503 us}
  new: {from: box, slot: 1}
ship: Dabchick
board: nano
"""
    )


def test_sections_that_are_not_there_are_added() -> None:
    sections = Sections({}, (channel("box", pin="D2"),), (channel("key", **{"from": "box"}),))
    made = put_into(b"ship: Bare\nboard: nano # small\n", sections, "bare.yaml")
    assert made == (
        "ship: Bare\nboard: nano # small\n\nreceiver:\n  channels:\n    box: {pin: D2}\n"
        "\ncontrols:\n  key: {from: box}\n"
    )


def test_line_ends_stay() -> None:
    made = put_into(
        SHIP.replace("\n", "\r\n").encode(),
        Sections({}, (channel("box", pin="D8"),), ()),
        "ferry.yaml",
    )
    assert made.count("\r\n") == made.count("\n") == SHIP.count("\n") + 1


@pytest.mark.parametrize("path", starters().values(), ids=lambda path: path.stem)
def test_starters(path: Path) -> None:
    content = path.read_bytes()
    root = parse_nodes(content, Problems(path.name))
    channels = entries(find(root, "receiver", "channels"))
    controls = entries(find(root, "controls"))
    learned = Sections(
        {},
        tuple(Entry(text_of(one, "pin", "pin") or name, {"lost below": "905 us"})
              for name, one in channels.items()),
        tuple(Entry(name, {"from": quoted(text_of(one, "from", "from")), "settle": "7 pulses"})
              for name, one in controls.items()),
    )  # fmt: skip
    fit = fitted(learned, root, {one.name: () for one in learned.controls})
    assert not fit.left_out
    made = put_into(content, fit.sections, path.name)
    assert comments(made) == comments(content.decode())
    again = entries(find(parse_nodes(made.encode(), Problems(path.name)), "receiver", "channels"))
    assert {text_of(one, "lost below") for one in again.values()} == {"905 us"}
    assert list(again) == list(channels)
    assert put_into(made.encode(), fit.sections, path.name) == made


def test_names_of_positions_stay() -> None:
    written = "{heave: 1700..2100 us, rest: 1400..1600 us, pay out: 900..1300 us}"
    ship = f"controls:\n  winch: {{from: stick, positions: {written}}}\n"
    learned = "{down: 900..1240 us, centre: 1290..1720 us, up: 1770..2100 us}"
    keys = {"from": "stick", "positions": learned, "rest": "centre"}
    root = parse_nodes(ship.encode(), Problems("x"))
    fit = fitted(
        Sections({}, (), (Entry("winch", keys),)), root, {"winch": ("down", "centre", "up")}
    )
    (control,) = fit.sections.controls
    assert control.keys["positions"] == (
        "{pay out: 900..1240 us, rest: 1290..1720 us, heave: 1770..2100 us}"
    )
    assert control.keys["rest"] == "rest"


def test_another_number_of_positions_is_left_out() -> None:
    root = parse_nodes(b"controls:\n  lamp: {from: a, kind: switch}\n", Problems("x"))
    keys = {
        "from": "a",
        "positions": "{low: 900..1200 us, middle: 1300..1700 us, high: 1800..2000 us}",
    }
    fit = fitted(
        Sections({}, (), (Entry("lamp", keys),)), root, {"lamp": ("low", "middle", "high")}
    )
    assert fit.sections.controls == ()
    assert "another number of positions" in fit.left_out[0]


def test_a_channel_of_several_controls_is_left_out() -> None:
    root = parse_nodes(b"controls:\n  one: {from: a}\n  two: {from: a}\n", Problems("x"))
    fit = fitted(Sections({}, (), (Entry("a", {"from": "a"}),)), root, {"a": ()})
    assert "several controls" in fit.left_out[0]


def test_what_cannot_be_put_in_safely_is_not() -> None:
    with pytest.raises(CannotPlace):
        put_into(b"receiver: none\n", Sections({}, (channel("a", pin="D2"),), ()), "x")


@given(
    names=st.lists(st.sampled_from(["wheel", "deck keys", "box, 2", 'the "old" key']), unique=True),
    note=st.text("abc #:{}'\"", max_size=8).map(str.strip),
    flow=st.booleans(),
)
def test_whatever_stands_there_stays(names: list[str], note: str, flow: bool) -> None:
    lines = [f"    {quoted(name)}: D{number + 2}" for number, name in enumerate(names)]
    body = "\n".join(f"{line} # {note}" for line in lines)
    if flow:
        body = "    {" + ", ".join(line.strip() for line in lines) + "} # " + note
    ship = f"# {note}\nreceiver:\n  channels:\n{body}\nboard: nano # {note}\n"
    if not names and not flow:
        return
    listed = tuple(channel(name, lost_below="900 us") for name in [*names, "new one"])
    made = put_into(ship.encode(), Sections({}, listed, ()), "x")
    assert comments(made)[0] == comments(ship)[0]
    assert made.count(f"# {note}") == ship.count(f"# {note}")
    again = entries(find(parse_nodes(made.encode(), Problems("x")), "receiver", "channels"))
    assert list(again) == [*names, "new one"]
    assert {text_of(one, "lost below") for one in again.values()} == {"900 us"}
