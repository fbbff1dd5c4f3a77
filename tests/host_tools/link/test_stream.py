"""Boards that say what none would: of their clock, their name and their pins."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from host_tools.formats.write_table import format_trace
from host_tools.link.identity import MOST_OTHER, Gathering
from host_tools.link.recorder import MOST_TICKS, Recorder, names_for
from host_tools.link.stream import Batch, Stream
from host_tools.link.told import Tally, TickLine

if TYPE_CHECKING:
    from host_tools.link.session import Event

YEARS = 4_000_000_000
"""Ticks, 230 days: what fits the ten digits of a tally is more than anything that is run."""


def batches(*events: Event) -> list[Batch]:
    taken: list[Batch] = []
    stream = Stream(taken.append)
    for event in events:
        stream.hear(event)
    return taken


@pytest.mark.parametrize(
    ("later", "whole"), [(400, True), (32_900, True), (33_000, False), (YEARS, False), (100, False)]
)
def test_what_lasted_longer_than_16_bits_tell_is_not_whole(later: int, whole: bool) -> None:
    taken = batches(TickLine(0, 0), Tally(200), TickLine(201, 0), Tally(later))
    assert [one.whole for one in taken] == [True, whole]


def test_a_recording_goes_on_in_another_part() -> None:
    recorder = Recorder()
    for event in (
        TickLine(0, 0),
        Tally(200),
        TickLine(YEARS % 65536, 0),
        Tally(YEARS),
        TickLine(YEARS % 65536 + 3, 0),
    ):
        recorder.stream.hear(event)
    parts = recorder.finish()
    assert [(part.recording.first, part.from_power_up) for part in parts] == [
        (0, True),
        (YEARS, False),
    ]
    assert [part.recording.ticks for part in parts] == [200, 4]
    assert all(part.recording.ticks <= MOST_TICKS for part in parts)


def gathered(*said: tuple[str, str]) -> Gathering:
    gathering = Gathering()
    for key, value in (("plan", "3f0c9a51d2e7"), ("bench", "on"), *said):
        gathering.take(key, value)
    return gathering


def test_a_name_of_odd_spaces_can_still_be_written_down() -> None:
    identity = gathered(("ship", "  Grey   Wagtail "), ("input", "a D4")).whole()
    assert identity is not None
    assert identity.ship == "Grey Wagtail"
    recorder = Recorder()
    recorder.stream.hear(TickLine(0, 0, ((0, 3000),)))
    (part,) = recorder.finish()
    text = "".join(format_trace(part.recording.trace(names_for(identity, None), "a test")))
    assert "tick\tD4\n" in text


@pytest.mark.parametrize("pins", [("|",), ("~",), ("D4", "D4"), ("",), ("tick\tx",)])
def test_what_is_no_pin_is_no_board(pins: tuple[str, ...]) -> None:
    said = (("input", f"{tag} {pin}") for tag, pin in zip("ab", pins, strict=False))
    assert gathered(*said).whole() is None


def test_what_is_said_on_and_on_is_not_kept() -> None:
    identity = gathered(*(("later", str(number)) for number in range(10_000))).whole()
    assert identity is not None
    assert len(identity.other) == MOST_OTHER
