"""Ship files: starters with their parts exchanged, files drawn from the declarations of the keys, and
both of them damaged byte by byte."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

import yaml

from gen.behaviours import REGISTRY
from gen.diagnostics import Problems, ShipError
from gen.load import load_text
from gen.read.keys import Nested, Record, keys_of
from gen.read.kinds import Words
from gen.read.rules import read_rules
from gen.read.sections import Entries, Items, Listed
from gen.read.trial_steps import read_trials
from gen.render import render
from gen.ship import Functions, Outputs, Ship
from host_tools.electrical.of_ship import electrics_of
from host_tools.electrical.told import problems_of
from host_tools.trial import script
from tests.fuzz.guard import ROOT, Fault, guarded
from tests.fuzz.mutate import NUMBERS, damaged
from tests.fuzz.target import check_told

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator, Sequence

    from gen.load import Loaded
    from gen.read.keys import Kind

FILE = "ship.yaml"

SHORT_TICKS = 20_000
"""Of a trial that is made into pulses: a longer one takes its time, and may."""

GOOD = [
    path.read_bytes()
    for path in sorted(
        [*(ROOT / "templates" / "ships").glob("*.yaml"), *(ROOT / "tests/gen/good").glob("*.yaml")]
    )
    if path.stem != "salvor"
]
BAD = [path.read_bytes() for path in sorted((ROOT / "tests" / "gen" / "bad").glob("*.yaml"))]
BOARDS = ("nano", "mega", "micro")

HOSTILE = (
    *("*/", "/* ", "\\", "??/", '"', "'", "`id`", "$(id)", "${x}", "{{ 7*7 }}", "{% raw %}", "#if 0"),
    *("<script>", "</style>", "&lt;", "]]>", "-->", "=1+1", "+1", "-1", "@SUM(1)", "\t=1", "\r=1"),
    *("../../x", "/etc/passwd", "con", "NUL", "aux.h", "a:b", "x\x00y", "\x1b[31m", "\x9b31m", "\u202e"),
    *("\u2028", "\ufeff", "\ud800", "a\u0301", "ﬁ", "İ", "ß" * 60, "x" * 61, "x" * 5000, " ", ""),
    *("int", "setup", "report", "D2", "A0", "spare", "auto", "none", "unused", "off", "up", "rest"),
    *("for", "at", "within 1 s", "1..2", "..", "/", "1/0", "0/0", "47k/10k", "1e9 s", "0 s", "300 h"),
    *("Fl(2) 10s", "Fl(99) 1s", "Mo(SOS)", "Mo()", "Fl(", "Q(3)", "Iso 0s", "5 min of 1 s", "25 % of 1 s"),
    *("below 11.4 V for 5 s", "above", "below 0 us", "never a while a", "always a off within 1 s of lost signal"),
)  # fmt: skip
"""What might mean something to whatever a text ends up in."""

_EXAMPLE = re.compile(r"such as '?([^']+?)'?$")


class Ships:
    """Read as `check` does: keys, plan, trials, rules, electrical sums; now and then all that is
    made from the plan without a compiler."""

    name = "ships"

    def __init__(self) -> None:
        # The smaller ones have as much to break, and are read sooner.
        self.trees = [yaml.load(text, yaml.BaseLoader) for text in GOOD]  # noqa: S506 - makes only texts
        self.scalars = sorted({text for tree in self.trees for text in _texts(tree)})

    def warm_up(self) -> None:
        for text in GOOD:
            loaded = load_text(text, FILE)
            self._further(loaded, text)
            list(render(loaded.plan, loaded.board).items())
        for text in BAD:
            try:
                load_text(text, FILE)
            except ShipError:
                continue

    def make(self, draw: random.Random) -> bytes:
        kind = draw.random()
        if kind < 0.25:
            return damaged(draw.choice(GOOD), draw, (*GOOD, *BAD))
        if kind < 0.35:
            return damaged(draw.choice(BAD), draw, (*GOOD, *BAD))
        if kind < 0.8:
            tree = _copied(draw.choice(self.trees))
            for _ in range(1 + int(draw.expovariate(0.5))):
                self._exchange(tree, draw)
        else:
            tree = self._declared(Ship, draw, 0)
            if draw.random() < 0.8:
                tree["board"] = draw.choice(BOARDS)
        made = _written(tree, draw)
        return damaged(made, draw, GOOD) if draw.random() < 0.1 else made

    def read(self, content: bytes) -> str:
        try:
            with guarded():
                loaded = load_text(content, FILE)
        except ShipError as error:
            return check_told(error.problems, content)
        if loaded.problems:
            check_told(loaded.problems, content)
        return self._further(loaded, content)

    def _further(self, loaded: Loaded, content: bytes) -> str:
        """A file that has a plan: its trials, its rules and its electrical sums."""
        plan, ship = loaded.plan, loaded.ship
        problems = Problems(FILE)
        try:
            with guarded():
                trials = read_trials(ship, plan, problems)
                read_rules(ship, plan, problems)
        except ShipError as error:
            return check_told(error.problems, content)
        if problems.found:
            check_told(problems, content)
        with guarded():
            for trial in trials:
                if sum(getattr(step, "ticks", 0) for step in trial.steps) < SHORT_TICKS:
                    script(plan, trial)
        if ship.supplies:
            with guarded():
                found = problems_of(electrics_of(ship, plan, loaded.board), FILE)
            if found:
                check_told(found, content)
        if len(content) % 16 == 0:
            with guarded(runs_code=True, deadline_s=3.0):
                sketch = render(plan, loaded.board)
            for name in sketch:
                if not re.fullmatch(r"(src/([a-z]+/)?)?[a-z][a-z0-9_]*\.(ino|h|cpp)", name):
                    raise Fault(f"makes a file called {name!r}")
        return "good"

    def _exchange(self, tree: Any, draw: random.Random) -> None:
        places = list(_places(tree))
        if not places:
            return
        holder, at = draw.choice(places)
        kind = draw.randrange(9)
        if kind == 0:
            del holder[at]
        elif kind == 1:
            holder[at] = draw.choice(HOSTILE)
        elif kind == 2:
            holder[at] = draw.choice(self.scalars)
        elif kind == 3 and isinstance(holder[at], str):
            holder[at] = re.sub("[0-9.]+", draw.choice(NUMBERS), holder[at], count=1)
        elif kind == 4:
            other, there = draw.choice(places)
            holder[at], other[there] = _copied(other[there]), _copied(holder[at])
        elif kind == 5:
            other, there = draw.choice(list(_places(draw.choice(self.trees))))
            holder[at] = _copied(other[there])
        elif kind == 6 and isinstance(holder, dict):
            names = (*HOSTILE, *(text for tree in self.trees[:1] for text in tree))
            holder[draw.choice(names)] = holder.pop(at)
        elif kind == 7:
            holder[at] = draw.choice(([holder[at]], {"a": holder[at]}, [], {}, None))
        elif isinstance(holder, dict):
            many = draw.choice((2, 3, 10, 40))
            for number in range(many):
                holder[f"{at} {number}"] = _copied(holder[at])

    def _declared(self, record: type[Record], draw: random.Random, depth: int) -> dict[str, Any]:
        made: dict[str, Any] = {}
        for name, found in keys_of(record).items():
            if not found.required and draw.random() < 0.6:
                continue
            value = self._value(found.kind, draw, depth + 1)
            if name == record.free and isinstance(value, dict):
                made |= value
            else:
                made[name] = value
        return made

    def _value(self, kind: Kind[Any], draw: random.Random, depth: int) -> Any:
        if depth > 8 or draw.random() < 0.03:
            return draw.choice(HOSTILE)
        if isinstance(kind, Nested):
            return self._declared(kind.record, draw, depth)
        if isinstance(kind, Items):
            return {
                self._name(draw): self._declared(self._record(kind, draw), draw, depth)
                for _ in range(draw.randint(1, 4))
            }
        if isinstance(kind, Entries):
            many = draw.randint(max(1, kind.least), max(1, min(kind.most, 3)))
            return {self._name(draw): self._value(kind.entry, draw, depth) for _ in range(many)}
        if isinstance(kind, Listed):
            return [self._value(kind.entry, draw, depth) for _ in range(draw.randint(1, 3))]
        if isinstance(kind, Words):
            return draw.choice(kind.choices)
        example = _EXAMPLE.search(kind.words)
        if example and draw.random() < 0.7:
            return example[1]
        return draw.choice((draw.choice(self.scalars), self._name(draw), draw.choice(HOSTILE)))

    def _record(self, kind: Items[Any], draw: random.Random) -> type[Record]:
        if isinstance(kind, Functions):
            return draw.choice(list(REGISTRY.values())).written
        if isinstance(kind, Outputs):
            return draw.choice(kind.RECORDS)
        return kind.record

    @staticmethod
    def _name(draw: random.Random) -> str:
        return draw.choice(
            ("a", "b", "deck key", "lamp", "relay 1", "stick", "up", "12 V", "D5", "A1")
        )


def _texts(tree: Any) -> Iterator[str]:
    if isinstance(tree, dict):
        for name, value in tree.items():
            yield name
            yield from _texts(value)
    elif isinstance(tree, list):
        for value in tree:
            yield from _texts(value)
    else:
        yield tree


def _places(tree: Any) -> Iterator[tuple[Any, Any]]:
    entries: Sequence[tuple[Any, Any]] = ()
    if isinstance(tree, dict):
        entries = list(tree.items())
    elif isinstance(tree, list):
        entries = list(enumerate(tree))
    for at, value in entries:
        yield tree, at
        yield from _places(value)


def _copied(tree: Any) -> Any:
    if isinstance(tree, dict):
        return {name: _copied(value) for name, value in tree.items()}
    return [_copied(value) for value in tree] if isinstance(tree, list) else tree


def _written(tree: Any, draw: random.Random) -> bytes:
    """As JSON, which is YAML, with every character as a number or as it is; or in blocks."""
    kind = draw.randrange(3)
    if kind == 0:
        return json.dumps(tree, indent=1).encode()
    if kind == 1:
        text = json.dumps(tree, ensure_ascii=False, indent=1)
    else:
        text = "\n".join(_blocks(tree, 0)) + "\n"
    return text.encode("utf-8", draw.choice(("surrogatepass", "replace", "replace", "replace")))


def _blocks(tree: Any, depth: int) -> Iterator[str]:
    space = "  " * depth
    entries = tree.items() if isinstance(tree, dict) else ((None, value) for value in tree or ())
    for name, value in entries:
        head = f"{space}-" if name is None else f"{space}{_scalar(name)}:"
        if isinstance(value, dict | list) and value:
            yield head
            yield from _blocks(value, depth + 1)
        else:
            yield f"{head} {_scalar(value)}"


def _scalar(value: Any) -> str:
    if isinstance(value, str) and re.fullmatch(r"[A-Za-z][\w ./%]*", value):
        return value
    return json.dumps(value, ensure_ascii=False)
