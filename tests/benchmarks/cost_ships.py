"""Small ships on a `nano` in threes, written so that only one thing differs between them.

What a ship of three takes more than the one before is what the thing costs: the first of its kind,
and a further one. All else about the three is alike, even the ports that their pins are on.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from string import Template

Part = Mapping[str, str]
"""Lines of a ship file, by the section that they belong to. In a part that comes in two copies `$n`
is the copy's number, and the other words with a `$` are its pins."""

Ships = tuple[str, str, str]
"""Three ship files: without a thing, with one of it, with two of it."""


@dataclass(frozen=True)
class Trio:
    """`what` names the thing as ship files do, `about` says what belongs to it."""

    what: str
    about: str
    ships: Ships


_WORDS = ("n", "line", "second", "channel", "timer", "pwm", "free", "contact", "volts")
_COPIES = tuple(
    dict(zip(_WORDS, words, strict=True))
    for words in (
        ("1", "A0", "A1", "D5", "D9", "D3", "D7", "D12", "A6"),
        ("2", "A2", "A4", "D6", "D10", "D11", "A5", "D13", "A7"),
    )
)

_SECTIONS = {
    "receiver": "receiver:",
    "channels": "  channels:",
    "controls": "controls:",
    "sensors": "sensors:",
    "outputs": "outputs:",
    "functions": "functions:",
    "supplies": "supplies:",
    "low battery": "low battery:",
}


def ship_file(*parts: Part) -> str:
    """A ship of all the parts' lines, each section once."""
    lines: dict[str, list[str]] = defaultdict(list)
    for part in parts:
        for section, text in part.items():
            lines[section] += text.splitlines()
    written = ["ship: Scales", "board: nano"]
    for section, opening in _SECTIONS.items():
        if section in lines or section == "receiver":
            indent = "    " if section == "channels" else "  "
            written += [opening, *(indent + line for line in lines[section])]
    return "\n".join(written) + "\n"


def first(part: Part) -> Part:
    """The first copy of a part."""
    return {section: Template(text).substitute(_COPIES[0]) for section, text in part.items()}


def second(part: Part) -> Part:
    """The second copy, on other pins."""
    return {section: Template(text).substitute(_COPIES[1]) for section, text in part.items()}


def added(part: Part, *beside: Part) -> Ships:
    """Nothing, one and two of `part`."""
    return (
        ship_file(*beside),
        ship_file(*beside, first(part)),
        ship_file(*beside, first(part), second(part)),
    )


def instead(plain: Part, part: Part, *beside: Part) -> Ships:
    """Two of `plain`; one of them `part` instead; both."""
    return (
        ship_file(*beside, first(plain), second(plain)),
        ship_file(*beside, first(part), second(plain)),
        ship_file(*beside, first(part), second(part)),
    )


def option(plain: Part, keys: str, *beside: Part) -> Ships:
    """The same where the function of `part` is that of `plain` with `keys` besides."""
    function = plain["functions"].removesuffix("}")
    return instead(plain, {**plain, "functions": f"{function}, {keys}}}"}, *beside)


def grown(none: Part, one: Part, two: Part, *beside: Part) -> Ships:
    """Three ships whose difference is written out."""
    return ship_file(*beside, none), ship_file(*beside, one), ship_file(*beside, two)
