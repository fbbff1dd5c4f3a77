"""Learning live: a person who does what is said, and a simulated board that tells what it hears."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

import pytest

from gen.load import load
from host_tools.cli import learn as command
from host_tools.cli.report import Report
from host_tools.formats.read_table import read_trace
from host_tools.learn.guidance import asked
from host_tools.learn.steps import steps_in
from tests.host_tools.link.wires import InStep
from tests.radios.person import Person

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from pytest_mock import MockerFixture

    from host_tools.link.session import Event, Session
    from tests.host_tools.cli.conftest import Told

    Run = Callable[..., Told]

SHIP = """\
ship: Dabchick                  # a ferry, invented
board: nano
receiver:
  channels:
    horn plug: D2               # the white plug
    lamp plug: {pin: D3}
controls:
  horn key: horn plug           # springs back
  lamp:     {from: lamp plug, kind: switch}
outputs:
  relay 1: D5
  relay 2: D6
functions:
  horn: {momentary: horn key up, drives: relay 1}
  mast light: {momentary: lamp on, drives: relay 2}
"""


@pytest.fixture
def person(mocker: MockerFixture) -> Person:
    """Somebody at the other end of the only port there is."""
    somebody = Person()
    _sit_down(somebody, mocker)
    return somebody


def _sit_down(somebody: Person, mocker: MockerFixture) -> None:
    @contextlib.contextmanager
    def session_on(named: str | None, listener: Callable[[Event], None]) -> Iterator[Session]:
        assert named == "in step"
        yield InStep(somebody.board).session(listener)

    say = Report.say

    def heard(report: Report, words: str) -> None:
        if words.startswith("step "):
            somebody.obey(words)
        say(report, words)

    mocker.patch.object(command, "session_on", session_on)
    mocker.patch.object(Report, "say", heard)


def test_a_radio_is_learned_as_it_is_said(run: Run, person: Person, tmp_path: Path) -> None:
    (tmp_path / "ferry.yaml").write_text(SHIP)
    told = run("learn", "--port", "in step", "--move", "horn key", "--move", "lamp",
               "--save", "radio.trace", "--into", "ferry.yaml", "--yes")  # fmt: skip
    assert told.code == 0, told.err
    for words in ("hold everything still", "now move 'horn key'", "switch the transmitter off"):
        assert words in told.out
    made = (tmp_path / "ferry.yaml").read_text()
    for kept in ("# a ferry, invented", "# the white plug", "# springs back"):
        assert kept in made
    plan = load(tmp_path / "ferry.yaml").plan
    horn, lamp = plan.controls
    assert [one.name for one in horn.positions] == ["down", "centre", "up"]
    for width, band in zip((1985, 3006, 4020), horn.positions, strict=True):
        assert band.low_half_us < width < band.high_half_us
    assert (horn.kind, lamp.kind) == ("key", "switch")
    assert all(1800 < one.lost_below_half_us < 1985 for one in plan.channels)
    steps = steps_in(read_trace(tmp_path / "radio.trace").source)
    assert [one.what for one in steps] == ["still", "move", "move", "off"]
    assert person.off


def test_what_was_saved_teaches_the_same(run: Run, person: Person) -> None:
    live = run("learn", "--port", "in step", "--move", "horn key", "--save", "a.trace", "--json")
    again = run("learn", "a.trace", "--json")
    assert live.json["controls"] == again.json["controls"]
    assert live.json["controls"]["horn key"]["kind"] == "key"
    del person


def test_two_that_move_at_once_are_refused(run: Run, mocker: MockerFixture) -> None:
    _sit_down(Person(careless=True), mocker)
    told = run("learn", "--port", "in step", "--move", "lamp")
    assert told.code == 2
    assert "error[learn-contradicts]" in told.err
    assert "'lamp'" in told.err


def test_no_pulse_is_no_radio(run: Run, mocker: MockerFixture) -> None:
    _sit_down(Person(silent=True), mocker)
    told = run("learn", "--port", "in step")
    assert told.code == 2
    assert "error[learn-nothing]" in told.err


def test_without_names_everything_is_moved_in_one_step() -> None:
    words = [one.words for one in asked(())]
    assert len(words) == 3
    assert "every key, switch, stick and knob" in words[1]
