"""What a board tells, line by line: texts <-> values. The grammar is in the guide, page "The link".

Inputs are tagged a .. p in the plan's order, sensors A .. Z; widths are microseconds with `.5`
where they fall between; ticks are four hexadecimal digits and wrap.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from gen.plan import HALF_US_PER_US, NO_FORCE, force_of, forced_by
from gen.units import us_text

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

MOST_INPUTS = 16
MOST_SENSORS = 26
WRAP_TICKS = 0x10000


@dataclass(frozen=True)
class TickLine:
    """One tick in which there was something to say. `tick` is of 16 bits; `pulses` are inputs and
    widths in the order in which they were seen; what is None or missing is as it was told last.
    `lines` holds bit i while `Plan.lines[i]` is on; `force` is what gen.plan.force_of() gives."""

    tick: int
    digest: int
    pulses: tuple[tuple[int, int], ...] = ()
    readings: Mapping[int, int] = field(default_factory=dict)
    lines: int | None = None
    servos_half_us: Mapping[int, int] = field(default_factory=dict)
    levels: Mapping[int, int] = field(default_factory=dict)
    force: int | None = None


@dataclass(frozen=True)
class Tally:
    """What a board counts, told once a second: `tick` since power-up (32 bits); pulses `lost`; the
    `longest_us` that a tick took; lines from here that were `bad`; lines that it `dropped` because
    this side or the wire was too slow; ticks that came `late`."""

    tick: int
    lost: int = 0
    longest_us: int = 0
    bad: int = 0
    dropped: int = 0
    late: int = 0


@dataclass(frozen=True)
class Who:
    """One line of a board's identity."""

    key: str
    value: str


@dataclass(frozen=True)
class Answer:
    """The board's answer to line `number`: obeyed if there is no `reason` why not."""

    number: int
    reason: str = ""


Told = TickLine | Tally | Who | Answer

_INPUT = re.compile(r"([a-p])(\d{1,5})(\.5)?")
_SENSOR = re.compile(r"([A-Z])(\d{1,5})")
_LINES = re.compile(r"x((?:[0-9A-F]{2})+)")
_SERVO = re.compile(r"s(\d{1,2}):(\d{1,5})(\.5)?")
_LIGHT = re.compile(r"u(\d{1,2}):(\d{1,3})")
_FORCE = re.compile(r"w(?:(\d{1,3}):(\d{1,3})|-)")
_TICK = re.compile(r"t ([0-9A-F]{4})((?: \S+)*) z([0-9A-F]{8})")
_TALLY = re.compile(r"n((?: [a-z]+=\d{1,10})+)")
_ANSWER = re.compile(r"(ok|no) ([0-9A-F]{2})(?: ([a-z]+))?")
_WHO = re.compile(r"who (\S+)(?: (.*))?")


def read_told(words: str) -> Told | None:
    """What one line tells; None if it is nothing that a board of this kind tells."""
    kind = words.partition(" ")[0]
    if kind == "t":
        return _tick_line(words)
    if kind == "n":
        return _tally(words)
    if kind == "who" and (who := _WHO.fullmatch(words)):
        return Who(who[1], who[2] or "")
    answer = _ANSWER.fullmatch(words)
    if answer and (answer[1] == "no") == bool(answer[3]):
        return Answer(int(answer[2], 16), answer[3] or "")
    return None


def _tick_line(words: str) -> TickLine | None:
    line = _TICK.fullmatch(words)
    if not line:
        return None
    pulses: list[tuple[int, int]] = []
    readings: dict[int, int] = {}
    servos: dict[int, int] = {}
    levels: dict[int, int] = {}
    lines: int | None = None
    force: int | None = None
    for token in line[2].split():
        if pulse := pulse_of(token):
            pulses.append(pulse)
        elif reading := reading_of(token):
            readings[reading[0]] = reading[1]
        elif one := _SERVO.fullmatch(token):
            servos[int(one[1])] = _half_us(one[2], one[3])
        elif one := _LIGHT.fullmatch(token):
            levels[int(one[1])] = int(one[2])
        elif lines is None and (one := _LINES.fullmatch(token)):
            lines = int(one[1], 16)
        elif force is None and (one := _FORCE.fullmatch(token)):
            force = force_of(int(one[1]), int(one[2])) if one[1] else NO_FORCE
        else:
            return None
    tick, digest = int(line[1], 16), int(line[3], 16)
    return TickLine(tick, digest, tuple(pulses), readings, lines, servos, levels, force)


def _tally(words: str) -> Tally | None:
    line = _TALLY.fullmatch(words)
    if not line:
        return None
    counts = {key: int(value) for key, _, value in (one.partition("=") for one in line[1].split())}
    if "tick" not in counts:
        return None
    return Tally(
        counts["tick"],
        counts.get("lost", 0),
        counts.get("longest", 0),
        counts.get("bad", 0),
        counts.get("dropped", 0),
        counts.get("late", 0),
    )


def _half_us(whole: str, half: str | None) -> int:
    return int(whole) * HALF_US_PER_US + (half is not None)


def pulse_of(token: str) -> tuple[int, int] | None:
    """Input and width of such a token, or None."""
    one = _INPUT.fullmatch(token)
    return (ord(one[1]) - ord("a"), _half_us(one[2], one[3])) if one else None


def reading_of(token: str) -> tuple[int, int] | None:
    """Sensor and reading of such a token, or None."""
    one = _SENSOR.fullmatch(token)
    return (ord(one[1]) - ord("A"), int(one[2])) if one else None


def pulse_token(source: int, half_us: int) -> str:
    """A pulse as the link says it: "a1502.5"."""
    return f"{chr(ord('a') + source)}{us_text(half_us)}"


def reading_token(sensor: int, reading: int) -> str:
    """A reading as the link says it: "A512"."""
    return f"{chr(ord('A') + sensor)}{reading}"


def tick_words(line: TickLine, line_bytes: int) -> str:
    """A tick's line, as a board writes it; `line_bytes` is how many bytes all lines take."""
    tokens = [f"t {line.tick % WRAP_TICKS:04X}"]
    tokens += [pulse_token(*pulse) for pulse in line.pulses]
    tokens += [reading_token(*one) for one in sorted(line.readings.items())]
    if line.lines is not None:
        tokens.append(f"x{line.lines:0{2 * line_bytes}X}")
    tokens += [f"s{one}:{us_text(width)}" for one, width in sorted(line.servos_half_us.items())]
    tokens += [f"u{one}:{duty}" for one, duty in sorted(line.levels.items())]
    if line.force is not None:
        forced = forced_by(line.force)
        tokens.append(f"w{forced[0]}:{forced[1]}" if forced else "w-")
    tokens.append(f"z{line.digest:08X}")
    return " ".join(tokens)


def tally_words(tally: Tally) -> str:
    """The line of counts, as a board writes it."""
    return (
        f"n tick={tally.tick} lost={tally.lost} longest={tally.longest_us} bad={tally.bad} "
        f"dropped={tally.dropped} late={tally.late}"
    )


def who_words(keys: Sequence[tuple[str, str]]) -> list[str]:
    """An identity, as a board writes it."""
    return [f"who {key} {value}".rstrip() for key, value in [*keys, ("end", "")]]
