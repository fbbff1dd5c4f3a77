"""`pinrail learn` from the outside."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from host_tools.formats.write_table import format_trace
from host_tools.learn.steps import Step, with_steps
from tests.radios.draw import draw_radio
from tests.radios.judge import judge
from tests.radios.session import minute
from tests.radios.wire import SumWire

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.host_tools.cli.conftest import Told

    Run = Callable[..., Told]

SEED = 21
SHIP = "ship: Dabchick\nboard: nano\nreceiver:\n  channels:\n    box: D2 # the switches\n"


@pytest.fixture
def radio(tmp_path: Path) -> Path:
    """A recording with its steps."""
    played, steps = minute(draw_radio(SEED))
    told = [Step(what, round(a * 200), round(b * 200), name) for what, name, a, b in steps]
    trace = played.trace()
    path = tmp_path / "radio.trace"
    path.write_text("".join(format_trace(replace(trace, source=with_steps("a radio", told)))))
    return path


def test_it_tells_what_how_sure_why_and_what_would_make_it_surer(run: Run, radio: Path) -> None:
    told = run("learn", radio.name)
    assert told.code == 0
    for words in ("a frame every 20.77 ms", "(sure)", "(not sure)", "because", "surer:",
                  "a shared channel: 4 slots of 2 frames, marker above", "to paste"):  # fmt: skip
        assert words in told.out, words
    assert "    box: {pin: which, shares: 4 slots, marker: above" in told.out
    assert "frames per slot: 2" in told.out


def test_for_machines(run: Run, radio: Path) -> None:
    told = run("learn", radio.name, "--json").json
    assert told["channels"]["box"]["shares"] == "4 slots"
    assert {one["sure"] for one in told["findings"]} <= {"sure", "likely", "not sure"}
    assert all(one["evidence"] for one in told["findings"])
    assert told["sections"].startswith("receiver:")


def test_pictures(run: Run, radio: Path, tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    from host_tools.plot.learned import draw_learned  # noqa: PLC0415 - needs the library

    assert run("learn", radio.name, "--plot", "one").code == 0
    assert (tmp_path / "one.png").read_bytes().startswith(b"\x89PNG")
    assert b"</svg>" in (tmp_path / "one.svg").read_bytes()
    assert run("learn", radio.name, "--plot", "one").code == 2
    _, learned, _ = judge(draw_radio(SEED, box=False))
    assert learned is not None
    assert draw_learned(learned) == draw_learned(learned)


def test_into_a_ship_file_only_after_a_yes(run: Run, radio: Path, tmp_path: Path) -> None:
    ship = tmp_path / "ship.yaml"
    ship.write_text(SHIP)
    told = run("learn", radio.name, "--into", "ship.yaml")
    assert told.code == 2
    assert "error[learn-not-agreed]" in told.err
    assert ship.read_text() == SHIP
    pinned = SHIP + "    wheel: D3\n    aft key: D4\n"
    ship.write_text(pinned)
    told = run("learn", radio.name, "--into", "ship.yaml", "--yes")
    assert told.code == 0, told.err
    assert "box: {pin: D2, shares: 4 slots" in ship.read_text()
    assert "# the switches" in ship.read_text()
    again = run("learn", radio.name, "--into", "ship.yaml", "--yes")
    assert "says all of this already" in again.out


def test_channels_without_a_pin_are_left_out(run: Run, radio: Path, tmp_path: Path) -> None:
    ship = tmp_path / "ship.yaml"
    ship.write_text(SHIP)
    told = run("learn", radio.name, "--into", "ship.yaml", "--yes")
    assert told.code == 0
    assert "left out: wheel: nobody knows its pin" in told.out
    assert "wheel:" not in ship.read_text()


def test_a_ship_file_that_would_break_is_left_alone(run: Run, radio: Path, tmp_path: Path) -> None:
    """What is written there of the lamp does not go together with the marker that was found."""
    assert run("new", "launch").code == 0
    ship = tmp_path / "launch.yaml"
    text = ship.read_text().replace(" deck keys:  D3", " box:  D3").replace("deck keys", "box")
    ship.write_text(text)
    told = run("learn", radio.name, "--into", "launch.yaml", "--yes")
    assert told.code == 2
    assert "error[slot-or-not]" in told.err
    assert ship.read_text() == text


def test_a_ship_file_in_which_nothing_can_be_placed(run: Run, radio: Path, tmp_path: Path) -> None:
    (tmp_path / "ship.yaml").write_text("ship: x\nreceiver: none\n")
    told = run("learn", radio.name, "--into", "ship.yaml", "--yes")
    assert (told.code, "error[learn-into]" in told.err) == (2, True)


def test_steps_by_hand(run: Run, tmp_path: Path) -> None:
    played, _ = minute(draw_radio(SEED))
    (tmp_path / "bare.trace").write_text("".join(format_trace(played.trace())))
    plain = run("learn", "bare.trace", "--step", "still 0 s..6 s")
    assert "nobody knows what it does when the signal goes" in plain.out
    off = run("learn", "bare.trace", "--step", "off 53 s..60 s")
    assert "when the signal goes" in off.out
    assert "nobody knows" not in off.out
    assert run("learn", "bare.trace", "--step", "dance").code == 2
    assert run("learn", "bare.trace", "--step", "off 1 s.." + "9" * 400 + " s").code == 2
    assert run("learn", "--move", "one; two").code == 2


def test_a_short_recording_is_refused(run: Run, tmp_path: Path) -> None:
    played, _ = minute(draw_radio(SEED))
    short = replace(played, lasts_s=5.0).trace()
    (tmp_path / "short.trace").write_text("".join(format_trace(short)))
    told = run("learn", "short.trace")
    assert (told.code, "error[learn-short]" in told.err) == (2, True)
    assert "record a minute" in told.err


def test_a_still_one_too(run: Run, tmp_path: Path) -> None:
    played, _ = minute(draw_radio(SEED, box=False))
    still = replace(played, moves={}, off_s=float("inf"))
    (tmp_path / "still.trace").write_text("".join(format_trace(still.trace())))
    told = run("learn", "still.trace")
    assert (told.code, "error[learn-still]" in told.err) == (2, True)


def test_raw_edges(run: Run, tmp_path: Path) -> None:
    (tmp_path / "wire.vcd").write_text(SumWire(1).vcd())
    told = run("learn", "wire.vcd")
    assert told.code == 0
    assert "a sum signal of 8 channels, measured from rising edges (sure)" in told.out


def test_a_file_that_is_not_there(run: Run) -> None:
    for name in ("no.trace", "no.vcd"):
        told = run("learn", name)
        assert (told.code, "error[cannot-read]" in told.err) == (2, True)
