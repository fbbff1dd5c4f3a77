"""What changed, as a ship owner reads it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from gen.load import load_text
from host_tools.cli.ships import starters
from host_tools.compare.both import all_changes, compare
from host_tools.compare.matching import match
from host_tools.compare.sameness import Sameness
from host_tools.compare.verdict import ADDED, GONE
from host_tools.compare.words import steps
from tests.host_tools.compare.prams import LAMP, pram

if TYPE_CHECKING:
    from host_tools.compare.changes import Change

SALVOR = starters()["salvor"].read_text(encoding="utf-8")


def changed(*edits: tuple[str, str]) -> list[Change]:
    """What is told of the starter with these edits (patterns, and what becomes of them)."""
    new = SALVOR
    for pattern, words in edits:
        assert re.search(pattern, new)
        new = re.sub(pattern, words, new)
    ships = load_text(SALVOR.encode()), load_text(new.encode())
    plans = ships[0].plan, ships[1].plan
    return all_changes(*ships, Sameness(*plans, match(*plans)))


@pytest.mark.parametrize(
    ("pattern", "words", "told"),
    [
        (r"lower: 5 s,", "lower: 6 s,", "function davit: limit: lower: 5 s -> 6 s"),
        (r"pause: 1 s", "pause: 2 s", "function tow winch: pause: 1 s -> 2 s"),
        (
            r"    on loss: keep\n    remember",
            "    remember",
            "function navigation lights: on loss: keep -> off",
        ),
        (r"settle: 3", "settle: 2", "control tow lever: settle: 3 pulses -> 2 pulses"),
        (r"D32, active: low", "D32, active: high", "output relay 1: active: low -> high"),
        (r": +A8\n", ": {pin: A8, lost after: 1 s}\n", "channel steering: lost after: new: 1 s"),
        (r"light knob", "lamp dial", "control light knob is now called lamp dial"),
        (r"davit motor", "boat motor", "output davit motor is now called boat motor"),
        (
            r"\[horn, bell\]",
            "[horn, smoke]",
            "group one sound at a time: never together: horn, bell -> horn, smoke",
        ),
        (r"D32", "D44", "output relay 1: pin: D32 -> D44"),
    ],
)
def test_a_change_is_told_in_the_ships_words(pattern: str, words: str, told: str) -> None:
    assert told in [one.text for one in changed((pattern, words)) if one.part != "trial"]


def test_another_way_to_write_it_is_no_change() -> None:
    assert changed((r"pause: 0.5 s", "pause: 500 ms"), (r"for 1 s   ", "for 1000 ms   ")) == []


def test_a_rename_is_told_once_and_not_where_it_is_named() -> None:
    told = [one.text for one in changed((r"deck key", "main key"))]
    assert told == ["control deck key is now called main key"]


def test_what_matters_to_safety_comes_first() -> None:
    told = changed(
        (r"light knob", "lamp dial"),
        (r"D32", "D44"),
        (r"lower: 5 s,", "lower: 6 s,"),
        (r"    on loss: keep\n    remember", "    remember"),
        (r"settle: 3 pulses", "settle: 2 pulses"),
    )
    assert [one.what or one.part for one in told] == [
        *("on loss", "limit: lower", "settle", "pin", "control")
    ]


def test_fuses_and_currents_follow_a_load() -> None:
    texts = [one.text for one in changed((r"draws: 3 A", "draws: 6 A"))]
    assert "fuse of fire pump: 4 A blade -> 10 A blade" in texts
    assert "load fire pump: worst current: 3 A -> 6 A" in texts


def test_lines_of_both_files_are_told() -> None:
    (change,) = changed((r"ship: Anna", "# a new line\nship: Anna"), (r"settle: 3", "settle: 2"))
    assert change.new_line == change.old_line + 1
    assert "settle: 3" in SALVOR.splitlines()[change.old_line - 1]


def test_a_function_that_is_gone_and_one_that_is_new_are_told() -> None:
    old, new = pram(LAMP), pram("  horn: {momentary: right key down, drives: siren}\n")
    assert {one.verdict for one in compare(old, new).verdicts} == {GONE, ADDED}


def test_the_way_is_told_in_the_ships_words() -> None:
    found = compare(pram(LAMP), pram(LAMP, ("toggle", "momentary")))
    (verdict,) = found.verdicts
    assert steps(verdict) == [
        "everything at rest for 0.04 s",
        "hold left key up for 0.04 s",
        "everything at rest for 0.025 s",
    ]


def test_a_power_cut_is_part_of_the_way_where_something_outlives_it() -> None:
    kept = (", drives: lamp", ", drives: lamp, remember: yes")
    (verdict,) = compare(pram(LAMP), pram(LAMP, kept)).verdicts
    assert "switch the power off and on" in steps(verdict)
