"""Characters of lights, as light lists and charts write them (IHO INT 1, section P 10).

A character names a class, how many flashes make a group, and the period. What it leaves open, how
long each flash is, is settled here by what the classes are told apart by (IHO INT 1; IALA R0110):

- Oc: more light than dark, equal eclipses. Fl: more dark than light, equal flashes, fewer than 50
  a minute. LFl: a flash of at least 2 s. Q: 50 to 79 flashes a minute. VQ: 80 to 159. UQ: 160 and
  more, and not above 300. Iso: as much light as dark. Mo: the signs of the Morse code.
- The gap behind a group is at least twice the pause within it, three times where there is room.

A listing that gives the times as well may be copied whole: `Fl(2) 9s 00.8+(02.2)+00.8+(05.2)`. The
times are then taken, and held against the class.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from gen.rhythms import morse
from gen.rhythms.pattern import Span, seconds_text
from gen.units import Wrong

if TYPE_CHECKING:
    from collections.abc import Sequence

SECOND_US = 1_000_000
MINUTE_US = 60 * SECOND_US
GRAIN_US = 50_000
"""Flashes are whole multiples of 50 ms, as far as the class leaves it open."""

EXAMPLE = "Fl(2) 10s"
CLASSES = ("F", "Iso", "Oc", "Fl", "LFl", "Q", "VQ", "UQ", "Mo")

RATES: dict[str, tuple[int, int, int]] = {
    "Q": (50, 79, 60),
    "VQ": (80, 159, 120),
    "UQ": (160, 300, 240),
}
"""Flashes a minute: the fewest, the most, and how many where the character does not say."""

FLASHES_BELOW = 50
"""A flashing light shows fewer flashes a minute than this, within a group as well."""

LONG_FLASH_US = 2 * SECOND_US

_CHARACTER = re.compile(
    r"(?P<kind>[A-Za-z]+)\s*(?:\((?P<group>[0-9A-Z+ ]+)\))?\s*(?P<tail>\+\s*LFl)?"
    r"(?:[.\s]*(?:W|R|G|Y|Bu|Vi|Am|Or)+(?![A-Za-z]))?[.\s]*(?:(?P<period>[0-9]+(?:\.[0-9]+)?)\s*s)?"
)
"""The letters of a light's colours may stand between; they are for the reader."""


@dataclass(frozen=True, slots=True)
class Character:
    """A character taken apart: `groups` are the numbers of flashes, `sign` the letters of a Morse
    light, `period_us` 0 if none is given."""

    kind: str
    groups: tuple[int, ...]
    sign: str
    long_flash: bool
    period_us: int

    @property
    def flashes(self) -> int:
        """How many flashes or eclipses there are in a period."""
        return sum(self.groups)

    @property
    def pauses(self) -> int:
        """How many of them are followed by another one of their group."""
        return self.flashes - len(self.groups)


def character(text: str) -> Character | None:
    """The character that `text` is, None if it is none. Raises Wrong if it is nearly one."""
    match = _CHARACTER.fullmatch(text)
    if match is None or match["kind"] not in CLASSES:
        return None
    kind, group = match["kind"], match["group"]
    takes_group = kind in ("Oc", "Fl", "Mo", *RATES)
    if group and not takes_group:
        raise Wrong("unknown-rhythm", f"has a group, which {kind} has not", f"{kind} and a period")
    if match["tail"] and kind not in ("Fl", *RATES):
        raise Wrong("unknown-rhythm", "cannot be followed by +LFl", "Fl, Q, VQ or UQ before it")
    groups: tuple[int, ...] = (1,)
    sign = ""
    if kind == "Mo":
        sign = (group or "").replace(" ", "")
        if not sign.isalnum():
            raise Wrong("unknown-rhythm", "names no sign", "a letter such as in Mo(A) 8s")
    elif group:
        numbers = [part.strip() for part in group.split("+")]
        if not all(part.isdigit() and 0 < int(part) <= 20 for part in numbers):
            raise Wrong("unknown-rhythm", "has no numbers in its group", "Fl(2) or Fl(2+1)")
        groups = tuple(map(int, numbers))
    period = match["period"]
    period_us = int(Decimal(period) * SECOND_US) if period else 0
    return Character(kind, groups, sign, bool(match["tail"]), period_us)


def spans(light: Character) -> list[Span]:
    """The stretches of one period; an empty list is a light that never goes out. Raises Wrong
    (`rhythm-rule`) where the class cannot have such a group in such a period."""
    if light.kind == "F":
        if light.period_us:
            raise Wrong("rhythm-rule", "is a fixed light and has no period", "F")
        return []
    if light.kind in RATES:
        return _quick(light)
    if not light.period_us:
        raise Wrong("rhythm-rule", "has no period", f"a period such as in {EXAMPLE}")
    return {
        "Iso": _isophase,
        "Oc": _occulting,
        "Fl": _flashing,
        "LFl": _long_flashing,
        "Mo": _morse,
    }[light.kind](light)


def _isophase(light: Character) -> list[Span]:
    half = light.period_us // 2
    return [Span(True, half), Span(False, light.period_us - half)]


def _grouped(light: Character, first_on: bool, each_us: int, pause_us: int) -> list[Span]:
    """Flashes (or eclipses) of `each_us`, `pause_us` apart within a group, with equal gaps behind
    the groups that fill the period."""
    left = light.period_us - light.flashes * each_us - light.pauses * pause_us
    made: list[Span] = []
    for number, size in enumerate(light.groups, 1):
        gap = left * number // len(light.groups) - left * (number - 1) // len(light.groups)
        for last in (False,) * (size - 1) + (True,):
            made += [Span(first_on, each_us), Span(not first_on, gap if last else pause_us)]
    return made


def _occulting(light: Character) -> list[Span]:
    """Eclipses of a sixth of the period, 2 s at most, or in groups 1 s at most with as much light
    between: Oc 12s is 2 s dark and 10 s light, Oc(2+1) 12s is 1;1;1;4;1;4 as INT 1 works it."""
    single = light.flashes == 1
    parts = 6 if single else light.flashes + light.pauses + 3 * len(light.groups)
    eclipse = _grain(min((2 if single else 1) * SECOND_US, light.period_us // parts))
    if eclipse < 6 * GRAIN_US:
        raise _too_short(light)
    return _grouped(light, False, eclipse, eclipse)


def _flashing(light: Character) -> list[Span]:
    """Flashes of a tenth of the period, between 0.3 s and 1 s, and pauses of twice that."""
    if light.long_flash:
        return _with_long_flash(light, 1_500_000, 500_000)
    single = light.flashes == 1
    if single and light.period_us * FLASHES_BELOW <= MINUTE_US:
        raise _too_quick(light.period_us)
    for times in (3, 2):
        parts = light.flashes + 2 * light.pauses + 2 * times * len(light.groups)
        flash = _grain(min(SECOND_US, light.period_us // (10 if single else max(10, parts))))
        if single:
            return _grouped(light, True, max(flash, 6 * GRAIN_US), 0)
        if 3 * flash * FLASHES_BELOW > MINUTE_US:
            return _grouped(light, True, flash, 2 * flash)
    raise _too_short(light)


def _long_flashing(light: Character) -> list[Span]:
    if light.period_us <= 2 * LONG_FLASH_US:
        raise Wrong(
            "rhythm-rule", "has more light than dark with a long flash of 2 s", "a longer period"
        )
    return _grouped(light, True, LONG_FLASH_US, 0)


def _quick(light: Character) -> list[Span]:
    """Flashes of three tenths of their turn (common practice, no source)."""
    fewest, most, usual = RATES[light.kind]
    turn = MINUTE_US // usual
    single = light.flashes == 1 and not light.long_flash
    if single:
        turn = light.period_us or turn
        if not fewest * turn <= MINUTE_US <= most * turn:
            raise Wrong(
                "rhythm-rule",
                f"shows {MINUTE_US / turn:.3g} flashes a minute",
                f"{fewest} to {most} for {light.kind}",
            )
    elif not light.period_us:
        raise Wrong("rhythm-rule", "has no period", f"a period such as in {light.kind}(3) 10s")
    flash = turn * 3 // 10
    if light.long_flash:
        return _with_long_flash(light, turn, flash)
    alone = Character(light.kind, light.groups, "", False, light.period_us or turn)
    if not single and light.period_us - light.flashes * turn < len(light.groups) * turn:
        raise _too_short(light)
    return _grouped(alone, True, flash, turn - flash)


def _with_long_flash(light: Character, turn_us: int, flash_us: int) -> list[Span]:
    """Flashes and one long flash behind them: VQ(6)+LFl 10s."""
    left = light.period_us - light.flashes * turn_us - LONG_FLASH_US
    if len(light.groups) > 1 or left < LONG_FLASH_US:
        raise _too_short(light)
    each = [Span(True, flash_us), Span(False, turn_us - flash_us)]
    return [*each * light.flashes, Span(True, LONG_FLASH_US), Span(False, left)]


def _morse(light: Character) -> list[Span]:
    """Dots of half a second at most, dark for at least a word's space behind the sign."""
    units = morse.units(light.sign)
    length = sum(count for _, count in units)
    unit = _grain(min(SECOND_US // 2, light.period_us // (length + morse.WORD_SPACE)))
    if unit < 2 * GRAIN_US:
        raise _too_short(light)
    made = [Span(on, count * unit) for on, count in units]
    return [*made, Span(False, light.period_us - length * unit)]


def _grain(us: int) -> int:
    return us // GRAIN_US * GRAIN_US


def _too_short(light: Character) -> Wrong:
    what = f"cannot be told from others within {seconds_text(light.period_us)}"
    return Wrong("rhythm-rule", what, "a longer period, fewer flashes, or the times themselves")


def _too_quick(turn_us: int) -> Wrong:
    return Wrong(
        "rhythm-rule",
        f"shows {MINUTE_US / turn_us:.3g} flashes a minute",
        f"fewer than {FLASHES_BELOW} for Fl",
        "a quicker light is a Q or a VQ",
    )


# ---- Times that come with a character ----


def check(light: Character, given: Sequence[Span]) -> None:
    """Holds times against the character that they are listed with. Raises Wrong (`rhythm-rule`)."""
    total = sum(span.us for span in given)
    if light.period_us and total != light.period_us:
        raise Wrong(
            "rhythm-rule",
            f"has times that add up to {seconds_text(total)}",
            f"{seconds_text(light.period_us)}, its period",
        )
    lit = [span.us for span in given if span.on]
    dark = [span.us for span in given if not span.on]
    if light.kind == "F" or not lit or not dark or len(lit) != len(dark):
        raise Wrong("rhythm-rule", "has times that are no light and dark in turn", light.kind)
    shown = dark if light.kind == "Oc" else lit
    if light.kind == "Mo":
        _check_morse(light, given)
        return
    count = light.flashes + light.long_flash
    if len(shown) != count:
        what = "eclipses" if light.kind == "Oc" else "flashes"
        raise Wrong("rhythm-rule", f"has times with {len(shown)} {what}", str(count))
    long_ones = [us for us in lit if us >= LONG_FLASH_US]
    if light.kind == "LFl" and not long_ones:
        raise Wrong("rhythm-rule", "has times with no long flash", "a flash of at least 2 s")
    if light.long_flash:
        shown = [us for us in lit if us < LONG_FLASH_US]
        if len(long_ones) != 1:
            raise Wrong("rhythm-rule", "has times with no single long flash", "one of at least 2 s")
    if len(set(shown)) > 1:
        raise Wrong("rhythm-rule", "has times of which not all flashes are equal", "equal times")
    rules = {
        "Iso": (sum(lit) == sum(dark), "as much light as dark"),
        "Oc": (sum(lit) > sum(dark), "more light than dark"),
    }
    holds, expected = rules.get(light.kind, (sum(lit) < sum(dark), "less light than dark"))
    if not holds:
        what = f"has times with {seconds_text(sum(lit))} of light in {seconds_text(total)}"
        raise Wrong("rhythm-rule", what, expected)
    _check_rate(light, given)


def _check_rate(light: Character, given: Sequence[Span]) -> None:
    """The shortest time from one flash to the next makes the rate."""
    begins = [0, *itertools.accumulate(span.us for span in given)]
    on = [begin for begin, span in zip(begins, given, strict=False) if span.on]
    turn = min(b - a for a, b in itertools.pairwise([*on, on[0] + begins[-1]]))
    if light.kind == "Fl" and turn * FLASHES_BELOW <= MINUTE_US:
        raise _too_quick(turn)
    if light.kind in RATES:
        fewest, most, _ = RATES[light.kind]
        if not fewest * turn <= MINUTE_US <= most * turn:
            raise Wrong(
                "rhythm-rule",
                f"has times with {MINUTE_US / turn:.3g} flashes a minute",
                f"{fewest} to {most} for {light.kind}",
            )


def _check_morse(light: Character, given: Sequence[Span]) -> None:
    """Dashes are at least three times a dot (IALA R0110: a short flash beside long ones is at most
    a third of them)."""
    wanted = [count for on, count in morse.units(light.sign) if on]
    lit = [span.us for span in given if span.on]
    dots = [us for us, count in zip(lit, wanted, strict=False) if count == morse.DOT]
    dashes = [us for us, count in zip(lit, wanted, strict=False) if count == morse.DASH]
    if len(lit) != len(wanted) or (dots and dashes and morse.DASH * max(dots) > min(dashes)):
        raise Wrong("rhythm-rule", f"has times that do not spell {light.sign}", "dots and dashes")
