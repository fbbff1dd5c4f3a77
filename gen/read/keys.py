"""The one description of the ship file: records, their keys, and what each key's value may be.

A record is a frozen dataclass whose fields are declared with `key(...)`. The reader, the hints for
unknown keys, the JSON Schema and the guide's tables are all made from these declarations:

    @dataclass(frozen=True, kw_only=True)
    class ChannelItem(Named):
        pin: Located[str] = key(PIN, "the pin its plug is on", required=True)
        lost_after: Located[int] | None = key(LOST_AFTER, "…")

The field `lost_after` is the key `lost after`; `from_` is the key `from`.
"""

from __future__ import annotations

import dataclasses
from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Generic, TypeVar

from gen.diagnostics import Place, nearest, show
from gen.nodes import BrokenNode, ListNode, MapNode, Node, TextNode
from gen.units import Wrong

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from gen.diagnostics import Problems

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)
R = TypeVar("R", bound="Record")

JsonSchema = dict[str, Any]

MOST_CHARACTERS = 400
"""Twice the longest text that anything in a ship file may be."""


@dataclass(frozen=True, slots=True)
class Located(Generic[T]):
    """A value, the text that it was written as, and its place in the ship file."""

    value: T
    text: str
    place: Place
    begins: int | None = None
    """As in gen.nodes.TextNode."""

    def place_of(self, offset: int) -> Place:
        """The place of a character of the text; its beginning, where the file has it otherwise."""
        if self.begins is None:
            return self.place
        return Place(self.place.line, self.place.col + self.begins + offset)


class Kind(ABC, Generic[T_co]):
    """What a value may be. `words` name it in messages and in the guide: "a time such as 0.5 s"."""

    words: str

    @abstractmethod
    def read(self, node: Node, label: str, problems: Problems) -> T_co | None:
        """The value of this node; None after noting why there is none. `label` names its key."""

    @abstractmethod
    def schema(self) -> JsonSchema:
        """The same rule as a JSON Schema."""


class Scalar(Kind[Located[T]]):
    """A value written as one text."""

    @abstractmethod
    def parse(self, text: str) -> T:
        """The value of this text. Raises Wrong."""

    def read(self, node: Node, label: str, problems: Problems) -> Located[T] | None:
        if not isinstance(node, TextNode):
            complain_about_kind(node, label, self.words, problems)
            return None
        return located(node, label, self, problems)

    def schema(self) -> JsonSchema:
        return {"type": "string", "description": self.words}


def located(node: TextNode, label: str, kind: Scalar[T], problems: Problems) -> Located[T] | None:
    """The typed value of a text; None after noting why it has none."""
    if len(node.text) > MOST_CHARACTERS:
        problems.add(
            "name-too-long",
            node.place,
            f"{label}: the text is {len(node.text)} characters long",
            got=show(node.text),
            expected=f"at most {MOST_CHARACTERS}, and here {kind.words}",
        )
        return None
    if not node.text or node.text in ("~", "null"):
        problems.add(
            "wrong-kind",
            node.place,
            f"{label}: nothing is given",
            expected=kind.words,
        )
        return None
    try:
        return Located(kind.parse(node.text), node.text, node.place, node.begins)
    except Wrong as wrong:
        complain(problems, node.place, label, node.text, wrong)
        return None


def complain(problems: Problems, place: Place, label: str, text: str, wrong: Wrong) -> None:
    """Notes what is wrong with the text at this place."""
    problems.add(
        wrong.code,
        place,
        f"{label} {wrong.what}",
        got=show(text),
        expected=wrong.expected,
        hint=wrong.hint,
    )


def complain_about_kind(node: Node, label: str, words: str, problems: Problems) -> None:
    """Notes that this node is no value of the kind that `words` name."""
    if isinstance(node, BrokenNode):
        return
    got = {TextNode: "a text", ListNode: "a list", MapNode: "keys of its own"}[type(node)]
    if isinstance(node, TextNode):
        got = show(node.text) if node.text else "nothing"
    problems.add(
        "wrong-kind",
        node.place,
        f"{label}: the wrong kind of value",
        got=got,
        expected=words,
    )


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a record. `default` is what leaving it out means, written as in the ship file."""

    name: str
    field: str
    kind: Kind[Any]
    about: str
    default: str | None
    required: bool


def key(kind: Kind[T], about: str, *, default: str | None = None, required: bool = False) -> T:
    """Declares a field of a record as a key of the ship file."""
    meta = {"kind": kind, "about": about, "default": default, "required": required}
    return dataclasses.field(default=None, metadata=meta)  # type: ignore[return-value]


@dataclass(frozen=True, kw_only=True)
class Record:
    """A map with known keys. `place` is where it begins, or the place of its name if it has one."""

    place: Place

    shorthand: ClassVar[str] = ""
    """The key that is meant when a plain text stands in place of the map."""
    free: ClassVar[str] = ""
    """The key under which keys that the ship's owner chooses are gathered (a pair's two ways)."""
    later: ClassVar[frozenset[str]] = frozenset()
    """Keys that are planned and not known yet."""
    never: ClassVar[Mapping[str, str]] = {}
    """Keys that one may look for here, and why there are none."""


@dataclass(frozen=True, kw_only=True)
class Named(Record):
    """A record that is an entry of a section: its key there is its name."""

    name: Located[str]


_KEYS: dict[type, dict[str, Key]] = {}


def keys_of(record: type[Record]) -> Mapping[str, Key]:
    """The keys of a record by their name in the ship file."""
    if record not in _KEYS:
        _KEYS[record] = {
            name: Key(name=name, field=field.name, **field.metadata)
            for field in dataclasses.fields(record)
            if "kind" in field.metadata
            for name in [field.name.rstrip("_").replace("_", " ")]
        }
    return _KEYS[record]


def read_record(
    record: type[R],
    node: Node,
    label: str,
    problems: Problems,
    name: Located[str] | None = None,
) -> R | None:
    """The record that this node describes; None after noting why it is unusable."""
    if isinstance(node, TextNode) and record.shorthand and node.text:
        node = MapNode(node.place, ((TextNode(node.place, record.shorthand), node),))
    if not isinstance(node, MapNode):
        words = ", ".join(keys_of(record))
        complain_about_kind(node, label, f"keys such as {words}", problems)
        return None
    known = keys_of(record)
    place = name.place if name is not None else node.place
    values: dict[str, Any] = {"place": place}
    if name is not None:
        values["name"] = name
    written = _sorted_out(record, node, label, problems)
    usable = True
    for found in known.values():
        if found.name in written:
            said = f"its {found.name}" if found.name == record.free else show(found.name)
            value = found.kind.read(written[found.name], _join(label, said), problems)
            usable = usable and value is not None
            values[found.field] = value
        elif found.required:
            problems.add(
                "missing-key",
                place,
                _join(label, f"the key {show(found.name)} is missing"),
                expected=found.kind.words,
            )
            usable = False
        elif found.default is not None:
            default = TextNode(place, found.default)
            values[found.field] = found.kind.read(default, show(found.name), problems)
    return record(**values) if usable else None


def _sorted_out(
    record: type[Record], node: MapNode, label: str, problems: Problems
) -> dict[str, Node]:
    """The values by key, unknown keys noted; free keys gathered under the record's `free` key."""
    known = keys_of(record).keys() - {record.free}
    written = {key.text: value for key, value in node.entries if key.text in known}
    others = [(key, value) for key, value in node.entries if key.text not in known]
    if record.free:
        written[record.free] = MapNode(node.place, tuple(others))
    else:
        for other, _ in others:
            unknown_key(other, label, known, record.later, problems, never=record.never)
    return written


def _join(label: str, text: str) -> str:
    return f"{label}: {text}" if label else text


def unknown_key(
    written: TextNode,
    label: str,
    known: Iterable[str],
    later: frozenset[str],
    problems: Problems,
    *,
    never: Mapping[str, str] = {},
) -> None:
    """Notes a key that is not known here: planned for later, misspelt, or never (and why)."""
    from gen import __version__  # noqa: PLC0415 - only needed once something is wrong

    place = written.place
    if written.text in later:
        what = f"pinrail {__version__} does not know {show(written.text)} yet"
        problems.add("not-yet", place, _join(label, what))
        return
    problems.add(
        "unknown-key",
        place,
        _join(label, "unknown key"),
        got=show(written.text),
        hint=never.get(written.text) or nearest(written.text, known, most_listed=12),
    )


class Nested(Kind[R]):
    """A map with known keys as a value."""

    def __init__(self, record: type[R], words: str) -> None:
        self.record = record
        self.words = words

    def read(self, node: Node, label: str, problems: Problems) -> R | None:
        return read_record(self.record, node, label, problems)

    def schema(self) -> JsonSchema:
        return record_schema(self.record)


def record_schema(record: type[Record]) -> JsonSchema:
    """A record as a JSON Schema."""
    known = keys_of(record)
    made: JsonSchema = {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            name: _described(found) for name, found in known.items() if name != record.free
        },
    }
    if record.free:
        free = known[record.free].kind.schema()
        made["additionalProperties"] = free["additionalProperties"]
    required = [name for name, found in known.items() if found.required and name != record.free]
    if required:
        made["required"] = required
    if record.shorthand:
        return {"anyOf": [known[record.shorthand].kind.schema(), made]}
    return made


def _described(found: Key) -> JsonSchema:
    made = {**found.kind.schema(), "description": found.about}
    if found.default is not None:
        made["default"] = found.default
    return made
