"""What changed in the ship file, in its own words: every key of every part, by its meaning.

Two times are equal if they are as many ticks, whatever unit they are written in; a name stands for
what it names, so that what was renamed is told once, where it was, and not wherever it is named.
"""

from __future__ import annotations

import dataclasses
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from gen.behaviours import REGISTRY
from gen.electric import Carried
from gen.read.keys import Located, Record, keys_of
from gen.read.sections import Section
from host_tools.compare.weight import NAMES, ORDER, weight_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from gen.diagnostics import Place
    from gen.ship import Ship
    from host_tools.compare.matching import Matching
    from host_tools.compare.sameness import Sameness

PARTS = {
    "functions": "function",
    "controls": "control",
    "channels": "channel",
    "sensors": "sensor",
    "outputs": "output",
    "groups": "group",
    "supplies": "supply",
    "always on": "always on",
    "drivers": "driver",
    "harness": "connector",
}
"""The sections of a ship file whose entries are parts with names, and the word for one."""

WITHOUT = frozenset(("name", "trials"))


@dataclass(frozen=True)
class Change:
    """One thing that is not as it was: of which part ("function", "davit"), what of it ("limit:
    lower"), how it was written in each file ("" where it was not) and in which line (0: nowhere).
    What matters more to safety has a smaller `weight`."""

    part: str
    name: str
    what: str
    old: str
    new: str
    old_line: int
    new_line: int
    weight: int

    @property
    def text(self) -> str:
        """The change in a line."""
        about = f"{self.part} {self.name}".strip()
        what = f"{about}: {self.what}" if self.what and about else about or self.what
        if self.part == "power":
            return self.what
        if self.weight == NAMES:
            return f"{self.part} {self.old} is now called {self.new}"
        if self.old and self.new:
            return f"{what}: {self.old} -> {self.new}"
        if not self.old and not self.new:
            return what
        return f"{what}: {'new' if self.new else 'gone'}: {self.new or self.old}"


def changes(old: Ship, new: Ship, same: Sameness) -> list[Change]:
    """All that is not as it was, what matters most to safety first."""
    found = list(_Reader(old, new, same).all())
    return sorted(found, key=lambda one: (one.weight, one.new_line or one.old_line, one.text))


@dataclass(frozen=True)
class _At:
    """Which part, what of it, and the lines around."""

    part: str = ""
    name: str = ""
    what: str = ""
    line: int = 0
    there: int = 0

    def of(self, key: str, line: int | None = None, there: int | None = None) -> _At:
        """A key of it."""
        what = f"{self.what}: {key}" if self.what else key
        lines = (
            self.line if line is None else line,
            self.there if there is None else there,
        )
        return _At(self.part, self.name, what, *lines)


class _Reader:
    def __init__(self, old: Ship, new: Ship, same: Sameness) -> None:
        self.old, self.new = old, new
        self.names = _renamed(same.matching, same)
        every = {new: old for old, new in renamed_parts(same).items()}
        self.turned = every
        joined = "|".join(re.escape(one) for one in sorted(every, key=len, reverse=True))
        self.pattern = re.compile(rf"(?<!\w)(?:{joined})(?!\w)") if every else None
        self.positions = _positions_renamed(same)

    def all(self) -> Iterator[Change]:
        """Section by section."""
        yield from self._record(_At(), self.old, self.new, WITHOUT | {"receiver"} | _KEYS)
        receivers = self.old.receiver, self.new.receiver
        yield from self._record(_At("receiver"), *receivers, frozenset(("channels",)))
        for key, part in PARTS.items():
            yield from self._part(part, self.names.get(part, {}), *self._sections(key))
        yield from self._trials()

    def _sections(self, key: str) -> tuple[Section[Any] | None, Section[Any] | None]:
        field = key.replace(" ", "_")
        if key == "channels":
            return self.old.receiver.channels, self.new.receiver.channels
        return getattr(self.old, field), getattr(self.new, field)

    def _part(
        self,
        part: str,
        names: Mapping[str, str],
        old: Section[Any] | None,
        new: Section[Any] | None,
    ) -> Iterator[Change]:
        before = dict(old.items) if old is not None else {}
        after = dict(new.items) if new is not None else {}
        partner = {name: names.get(name, name) for name in before}
        for name, one in before.items():
            other = after.get(partner[name])
            line = old.places[name].line if old is not None else 0
            if other is None:
                yield Change(part, name, "", name, "", line, 0, weight_of(part, "", gone=True))
                continue
            there = new.places[partner[name]].line if new is not None else 0
            if partner[name] != name:
                yield Change(part, name, "", name, partner[name], line, there, NAMES)
            yield from self._value(_At(part, partner[name], "", line, there), one, other)
        known = set(partner.values())
        for name in after:
            if name not in known:
                line = new.places[name].line if new is not None else 0
                yield Change(part, name, "", "", name, 0, line, weight_of(part, "", gone=False))
        order = [partner[name] for name in before if partner[name] in after]
        if order != [name for name in after if name in order]:
            yield Change(part + "s", "", "stand in another order", "", "", 0, 0, ORDER)

    def _value(self, at: _At, old: Any, new: Any) -> Iterator[Change]:
        if isinstance(old, Record) and isinstance(new, Record):
            yield from self._record(at, old, new, WITHOUT)
        elif isinstance(old, Section) and isinstance(new, Section):
            for key in dict.fromkeys([*old.items, *map(self._back, new.items)]):
                mine = old.items.get(key)
                forward = next((one for one in new.items if self._back(one) == key), key)
                theirs = new.items.get(forward)
                here = old.places[key].line if mine is not None else at.line
                far = new.places[forward].line if theirs is not None else at.there
                yield from self._value(at.of(key, here, far), mine, theirs)
        elif not self._is_equal(old, new):
            weight = weight_of(at.part, at.what, gone=new is None)
            lines = _line(old, at.line), _line(new, at.there)
            yield Change(at.part, at.name, at.what, _text(old), _text(new), *lines, weight)

    def _record(self, at: _At, old: Any, new: Any, skip: frozenset[str]) -> Iterator[Change]:
        mine, theirs = keys_of(type(old)), keys_of(type(new))
        word, other = _kind(old), _kind(new)
        if type(old) is not type(new) and word != other:
            weight = weight_of(at.part, "kind", gone=False)
            yield Change(at.part, at.name, "kind", word, other, at.line, at.there, weight)
        for key in dict.fromkeys([*mine, *theirs]):
            one = getattr(old, mine[key].field) if key in mine else None
            other_value = getattr(new, theirs[key].field) if key in theirs else None
            if key not in skip and (one is not None or other_value is not None):
                yield from self._value(at.of(key), one, other_value)

    def _is_equal(self, old: Any, new: Any) -> bool:
        """By meaning: a value, not how it is written; names as they were."""
        if isinstance(old, Located) and isinstance(new, Located):
            if isinstance(old.value, str) and isinstance(new.value, str):
                return self._plain(old.value) == self._plain(self._back(new.value))
            return bool(self._told(old.value) == self._told(new.value, back=True))
        if isinstance(old, tuple) and isinstance(new, tuple):
            if len(old) != len(new):
                return False
            if all(isinstance(one, Located) and isinstance(one.value, str) for one in (*old, *new)):
                mine = sorted(self._plain(one.value) for one in old)
                return mine == sorted(self._plain(self._back(one.value)) for one in new)
            return all(self._is_equal(one, other) for one, other in zip(old, new, strict=True))
        if isinstance(old, Carried) and isinstance(new, Carried):
            return self._is_equal(old.what, new.what) and self._is_equal(old.contacts, new.contacts)
        return bool(old == new)

    def _told(self, value: Any, *, back: bool = False) -> Any:
        if isinstance(value, str):
            return self._plain(self._back(value) if back else value)
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            return tuple(
                self._told(getattr(value, one.name), back=back) for one in dataclasses.fields(value)
            )
        return value

    def _back(self, text: str) -> str:
        """A text of the new file with the names of the old one."""
        if self.pattern is not None:
            text = self.pattern.sub(lambda found: self.turned[found.group()], text)
        for control, names in self.positions.items():
            for new, old in names.items():
                text = re.sub(
                    rf"(?<!\w){re.escape(control)} {re.escape(new)}(?!\w)", f"{control} {old}", text
                )
                if text == new:
                    text = old
        return text

    def _plain(self, text: str) -> str:
        return _same_times(" ".join(text.split()))

    def _trials(self) -> Iterator[Change]:
        old = {name: [s.text for s in one] for name, one in self._trials_of(self.old).items()}
        new = {
            self._back(name): [self._back(step.text) for step in one]
            for name, one in self._trials_of(self.new).items()
        }
        for name in dict.fromkeys([*old, *new]):
            if old.get(name) != new.get(name):
                line = _line_of(self.old, name)
                there = max(_line_of(self.new, one) for one in self._forms(name))
                what = "new" if name not in old else "gone" if name not in new else "changed"
                yield Change("trial", name, what, "", "", line, there, ORDER)

    def _forms(self, name: str) -> list[str]:
        """How the new file may call a trial of this name of the old one."""
        every = self._trials_of(self.new)
        return [name, *(one for one in every if self._back(one) == name)]

    def _trials_of(self, ship: Ship) -> Mapping[str, tuple[Located[str], ...]]:
        return ship.trials.items if ship.trials is not None else {}


_KEYS = frozenset(PARTS) | {"trials"}
_TIME = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) ?(ms|s|min|h)(?!\w)")
_MS = {"ms": 1, "s": 1000, "min": 60_000, "h": 3_600_000}


def _same_times(text: str) -> str:
    """The same text with each time in milliseconds."""
    return _TIME.sub(lambda found: f"{float(found[1]) * _MS[found[2]]:g} ms", text)


def _line_of(ship: Ship, trial: str) -> int:
    if ship.trials is None or trial not in ship.trials.places:
        return 0
    return ship.trials.places[trial].line


def _renamed(matching: Matching, same: Sameness) -> dict[str, dict[str, str]]:
    """For each kind of part the new names by the old ones."""
    old, new = same.old.plan, same.new.plan
    made = {
        word: {getattr(old, kind)[i].name: getattr(new, kind)[j].name for i, j in pairs.items()}
        for word, kind, pairs in (
            ("function", "functions", matching.functions),
            ("control", "controls", matching.controls),
            ("channel", "channels", matching.channels),
            ("sensor", "sensors", matching.sensors),
        )
    }
    outputs: dict[str, str] = {}
    for kind, pairs in matching.outputs.items():
        outputs |= {
            getattr(old, kind)[i].name: getattr(new, kind)[j].name for i, j in pairs.items()
        }
    of_new = {line: pair.name for pair in new.pairs for line in (pair.first, pair.second)}
    for pair in old.pairs:
        there = matching.outputs["lines"].get(pair.first)
        if there in of_new:
            outputs[pair.name] = of_new[there]
    made["output"] = outputs
    return made


def renamed_parts(same: Sameness) -> dict[str, str]:
    """New names by the old ones, of all parts that have another one."""
    return {
        old: new
        for mine in _renamed(same.matching, same).values()
        for old, new in mine.items()
        if old != new
    }


def _positions_renamed(same: Sameness) -> dict[str, dict[str, str]]:
    """For each control, by its old name, the old names of its positions by the new ones."""
    made: dict[str, dict[str, str]] = {}
    for i, j in same.matching.controls.items():
        old, new = same.old.plan.controls[i], same.new.plan.controls[j]
        if len(old.positions) == len(new.positions):
            names = {
                b.name: a.name
                for a, b in zip(old.positions, new.positions, strict=True)
                if a.name != b.name
            }
            if names and {*names} != {*names.values()}:
                made[old.name] = names
    return made


def _kind(record: Record) -> str:
    """The word for what a function or an output is."""
    for word, behaviour in REGISTRY.items():
        if behaviour.written is type(record):
            return word
    kind = getattr(record, "kind", None)
    return (
        str(kind.value) if kind is not None else type(record).__name__.removesuffix("Item").lower()
    )


def _text(value: Any) -> str:
    """As it is written."""
    match value:
        case None:
            return ""
        case Located():
            return value.text
        case Carried():
            return value.what.text
        case tuple():
            return ", ".join(map(_text, value))
        case Section():
            return "{" + ", ".join(f"{k}: {_text(v)}" for k, v in value.items.items()) + "}"
        case Record():
            said = [
                f"{name}: {_text(one)}"
                for name, key in keys_of(type(value)).items()
                if (one := getattr(value, key.field)) is not None and key.default != _text(one)
            ]
            return "{" + ", ".join(said) + "}"
    return str(value)


def _line(value: Any, otherwise: int) -> int:
    place: Place | None = getattr(value, "place", None)
    if place is None and isinstance(value, tuple) and value:
        return _line(value[0], otherwise)
    if value is None:
        return otherwise
    return place.line if place is not None else otherwise
