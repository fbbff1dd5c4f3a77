"""Edits of a ship file, as its owner makes them, drawn at random: harmless ones, which change
nothing that the ship does, and harmful ones, which do. All are edits of the text."""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

SECTION = re.compile(r"^(\w[\w ]*):\s*$", re.M)
NAME = re.compile(r"^  ([a-zA-Z][^:{}#\n]*):", re.M)


@dataclass(frozen=True)
class Edit:
    """A text before and after, and what was done."""

    what: str
    old: str
    new: str


def harmless(text: str, seed: int) -> Edit:
    """One to three harmless edits."""
    draw = random.Random(seed)
    new = text
    done: list[str] = []
    while not done or (draw.random() < 0.5 and len(done) < 3):
        edit = draw.choice(HARMLESS)
        after = edit(new, draw)
        if after != new:
            new = after
            done.append(edit.__name__)
    return Edit(", ".join(done), text, new)


def harmful(text: str, seed: int) -> Edit:
    """One harmful edit."""
    draw = random.Random(seed)
    places = _places(text)
    while True:
        rule = draw.choice(HARMFUL)
        found = [one for one in re.finditer(rule.pattern, text) if places.allows(one.start())]
        if not found:
            continue
        one = draw.choice(found)
        after = rule.change(one, draw)
        if after != one.group():
            line = text.count("\n", 0, one.start()) + 1
            what = f"{rule.what}, line {line}: {one.group().strip()!r} -> {after.strip()!r}"
            return Edit(what, text, text[: one.start()] + after + text[one.end() :])


@dataclass(frozen=True)
class _Places:
    """Where a file may be edited: not in its trials, supplies, and comments."""

    spans: tuple[tuple[int, int], ...]

    def allows(self, at: int) -> bool:
        return any(begin <= at < end for begin, end in self.spans)


def _places(text: str) -> _Places:
    spans = []
    for name in ("receiver", "controls", "sensors", "functions", "low battery"):
        begin, end = _section(text, name)
        at = begin
        for line in text[begin:end].splitlines(keepends=True):
            code = line.split("#")[0]
            if "load" not in code.split(":")[0]:
                spans.append((at, at + len(code)))
            at += len(line)
    return _Places(tuple(spans))


def _section(text: str, name: str) -> tuple[int, int]:
    heads = [(one.group(1), one.start(), one.end()) for one in SECTION.finditer(text)]
    for number, (head, _, end) in enumerate(heads):
        if head == name:
            return end + 1, heads[number + 1][1] if number + 1 < len(heads) else len(text)
    return 0, 0


# Harmless


def rename(text: str, draw: random.Random) -> str:
    """A control, function or output gets another name, wherever it is named."""
    section = draw.choice(["controls", "functions", "outputs"])
    begin, end = _section(text, section)
    names = [one.group(1) for one in NAME.finditer(text[begin:end])]
    every = {one.group(1) for one in NAME.finditer(text)}
    name = draw.choice([one for one in names if len(one) > 3])
    # Names that stand in others' names would change those, too: that is no harm, but no rename.
    new = f"{name} {draw.choice(['aft', 'two', 'of old', 'b'])}"
    if new in every or any(name != one and name in one for one in every):
        return text
    return re.sub(rf"(?<![\w-]){re.escape(name)}(?![\w-])", new, text)


def reorder(text: str, draw: random.Random) -> str:
    """The entries of a section stand in another order."""
    begin, end = _section(text, draw.choice(["controls", "functions", "outputs"]))
    blocks = re.split(r"(?m)^(?=  [^ #\n])", text[begin:end])
    head, entries = blocks[0], blocks[1:]
    entries = [one if one.endswith("\n") else one + "\n" for one in entries]
    draw.shuffle(entries)
    return text[:begin] + head + "".join(entries) + text[end:]


def comment(text: str, draw: random.Random) -> str:
    """A comment, or an empty line."""
    lines = text.splitlines(keepends=True)
    at = draw.randrange(1, len(lines))
    return "".join([*lines[:at], draw.choice(["# as measured\n", "\n"]), *lines[at:]])


def pins(text: str, draw: random.Random) -> str:
    """Two outputs that are switched change their pins."""
    begin, end = _section(text, "outputs")
    found = [
        one
        for one in re.finditer(r"(?m)^  [\w ]+: +(?:\{pin: )?(D\d+)", text[begin:end])
        if "servo" not in one.group()
        and "dimmer" not in text[begin:end][one.end() :].split("\n", maxsplit=1)[0]
        and "kind: servo" not in text[begin:end][one.end() :].split("\n", maxsplit=1)[0]
    ]
    if len(found) < 2:
        return text
    one, other = sorted(draw.sample(found, 2), key=lambda each: each.start())
    section = text[begin:end]
    made = (
        section[: one.start(1)] + other.group(1) + section[one.end(1) : other.start(1)]
        + one.group(1) + section[other.end(1) :]
    )  # fmt: skip
    return text[:begin] + made + text[end:]


def units(text: str, draw: random.Random) -> str:
    """A time in another unit."""
    found = list(re.finditer(r"(?<=: )(\d+(?:\.\d+)?) s(?=[,}\n ]|$)", text))
    if not found:
        return text
    one = draw.choice(found)
    return text[: one.start()] + f"{float(one.group(1)) * 1000:g} ms" + text[one.end() :]


def level(text: str, draw: random.Random) -> str:
    """A relay that is switched on by the other level."""
    found = list(re.finditer(r"active: (low|high)", text))
    if not found:
        return text
    one = draw.choice(found)
    other = "high" if one.group(1) == "low" else "low"
    return text[: one.start(1)] + other + text[one.end(1) :]


def currents(text: str, draw: random.Random) -> str:
    """A load draws more."""
    found = list(re.finditer(r"draws: (\d+(?:\.\d+)?) A", text))
    if not found:
        return text
    one = draw.choice(found)
    return text[: one.start(1)] + f"{float(one.group(1)) * 1.1:.2f}" + text[one.end(1) :]


def ways(text: str, draw: random.Random) -> str:
    """A pair's two ways stand in the other order."""
    found = list(re.finditer(r"\{([\w ]+: +D\d+), +([\w ]+: +D\d+)", text))
    if not found:
        return text
    one = draw.choice(found)
    return text[: one.start()] + f"{{{one.group(2)}, {one.group(1)}" + text[one.end() :]


HARMLESS = (rename, rename, reorder, comment, pins, units, level, currents, ways)


# Harmful


@dataclass(frozen=True)
class Rule:
    """Where, and what becomes of it."""

    what: str
    pattern: str
    change: Callable[[re.Match[str], random.Random], str]


def _times(factors: tuple[float, ...]) -> Callable[[re.Match[str], random.Random], str]:
    def changed(found: re.Match[str], draw: random.Random) -> str:
        value = float(found.group("n")) * draw.choice(factors)
        return found.group().replace(found.group("n"), f"{round(value, 2):g}", 1)

    return changed


def _to(*words: str) -> Callable[[re.Match[str], random.Random], str]:
    def changed(found: re.Match[str], draw: random.Random) -> str:
        return found.group().replace(found.group("n"), draw.choice(words), 1)

    return changed


def _swapped(found: re.Match[str], draw: random.Random) -> str:
    del draw
    one, other = found.group("a"), found.group("b")
    return found.group().replace(one, "\0").replace(other, one).replace("\0", other)


def _gone(found: re.Match[str], draw: random.Random) -> str:
    del found, draw
    return ""


TIME = r"(?P<n>\d+(?:\.\d+)?) s(?=[,}\n ])"
HARMFUL = (
    Rule("limit", rf"limit: \{{[\w ]+: {TIME}", _times((0.5, 0.8, 1.1, 1.25, 2))),
    Rule("limit", rf"limit: \{{[\w ]+: [\d.]+ m?s, [\w ]+: {TIME}", _times((0.5, 0.9, 1.2))),
    Rule("pause", rf"pause: {TIME}", _times((0.5, 0.9, 1.1, 3))),
    Rule("for", rf"(?<!\w)for: {TIME}", _times((0.5, 0.9, 1.2, 2))),
    Rule("first", rf"first: [\w ]+ for {TIME}", _times((0.5, 2))),
    Rule("loss", r"on loss: (?P<n>keep|off|\"on\"|\"off\")", _to("keep", '"off"', '"on"')),
    Rule("settle", r"settle: (?P<n>\d) pulses", _to("1", "2", "4")),
    Rule("remember", r"(?m)^ +remember: yes.*\n", _gone),
    Rule("direction", r"winch: \{[\w ]+: (?P<a>[\w ]+ \w+), [\w ]+: (?P<b>[\w ]+ \w+)\}", _swapped),
    Rule("key", r"(?<=toggle: )[\w ]+ (?P<n>up|down)(?=[,\n ])", _to("up", "down")),
    Rule("behaviour", r"(?P<n>toggle)(?=: [\w ]+ (?:up|down)[,\n ])", _to("momentary")),
    Rule("behaviour", r"(?P<n>momentary)(?=: [\w ]+ \w+[,\n ])", _to("toggle")),
    Rule("gate", r"(?m)^ +(?:only while|never with|first): [\w ]+(?:#.*)?\n", _gone),
    Rule("rhythm", r"(?:Fl|Oc|Q|Iso|LFl)(?:\(\d\))? (?P<n>\d+)s", _times((0.5, 1.5, 2))),
    Rule("curve", r"curve: (?P<n>\d+) %", _times((0.5, 1.5))),
    Rule("speed", r"speed: (?P<n>\d+) (?:us|deg)/s", _times((0.5, 1.5))),
    Rule("dead band", r"dead band: (?P<n>\d+) us", _times((0.5, 2))),
    Rule("neutral", rf"neutral first: {TIME}", _times((0.5, 2))),
    Rule("mix", r"mix: \{[\w ]+: (?P<n>-?\d+) %", _times((0.5, -1))),
    Rule("duty", r"duty: (?P<n>\d+) % of", _times((0.5, 1.6))),
    Rule("stall", rf"stall: [\w ]+ V for {TIME}", _times((0.5, 2))),
    Rule("band", r"(?<=: )(?P<n>\d{3,4})\.\.\d{3,4} us", _times((1.02, 0.98))),
    Rule("lost after", rf"lost after: {TIME}", _times((0.5, 2))),
    Rule("lost below", r"lost below: (?P<n>\d+) us", _times((0.98, 0.96))),
    Rule("run on", rf"run on: {TIME}", _times((0.5, 2))),
    Rule("longest", rf"longest: {TIME}", _times((0.5, 0.8))),
    Rule("fade", rf"(?:up|down): {TIME}", _times((0.5, 2))),
    Rule("wait", rf"wait {TIME}", _times((0.5, 2))),
    Rule("sensor", r"(?:above|below) (?P<n>\d+(?:\.\d+)?) V", _times((0.9, 1.1))),
)
