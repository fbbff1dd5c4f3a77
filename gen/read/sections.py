"""Maps whose keys are names, and lists: the sections of a ship file and what is built like them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

from gen.diagnostics import show
from gen.names import MOST_CHARACTERS
from gen.nodes import ListNode, MapNode, Node, TextNode
from gen.read.keys import (
    Kind,
    Located,
    Nested,
    Record,
    Scalar,
    complain_about_kind,
    located,
    read_record,
)
from gen.read.kinds import NAME

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from gen.diagnostics import Place, Problems
    from gen.read.keys import JsonSchema

MOST_ENTRIES = 256
"""Many times what a board has pins for; what is compared in pairs stays quick."""

T = TypeVar("T")
R = TypeVar("R", bound=Record)


@dataclass(frozen=True)
class Section(Generic[T]):
    """A map whose keys are names, which stand in `places`. `broken` are names that stand there but
    whose entry is unusable: it has been complained about, and referring to it is no further
    mistake."""

    place: Place
    items: Mapping[str, T]
    places: Mapping[str, Place]
    broken: frozenset[str] = frozenset()

    def __iter__(self) -> Iterator[T]:
        return iter(self.items.values())

    def __len__(self) -> int:
        return len(self.items)


class Entries(Kind[Section[T]]):
    """A map from names to values of one kind. `item` is the word for one of them ("channel")."""

    whole = True
    """Whether one unusable entry makes the whole map unusable."""

    def __init__(
        self, item: str, entry: Kind[T], least: int = 0, most: int = MOST_ENTRIES, words: str = ""
    ) -> None:
        self.item = item
        self.entry = entry
        self.least = least
        self.most = most
        self.words = words or f"names, each with its {item}"

    def read(self, node: Node, label: str, problems: Problems) -> Section[T] | None:
        if not isinstance(node, MapNode):
            complain_about_kind(node, label, self.words, problems)
            return None
        if not self.least <= len(node.entries) <= self.most:
            problems.add(
                "wrong-count",
                node.place,
                f"{label}: the wrong number of entries",
                got=str(len(node.entries)),
                expected=self._expected(),
            )
            return None
        items: dict[str, T] = {}
        broken = set()
        for written, value_node in node.entries:
            name = located(written, self._named(label), NAME, problems)
            value = self.read_entry(name, value_node, self._entry_label(label, written), problems)
            if name is None or value is None:
                broken.add(written.text)
            else:
                items[written.text] = value
        if broken and self.whole:
            return None
        places = {written.text: written.place for written, _ in node.entries}
        return Section(node.place, items, places, frozenset(broken))

    def read_entry(
        self, name: Located[str] | None, node: Node, label: str, problems: Problems
    ) -> T | None:
        """One entry; `name` is None if it was no name."""
        del name
        return self.entry.read(node, label, problems)

    def _expected(self) -> str:
        if self.least == self.most:
            return f"exactly {self.least}"
        return f"from {self.least} to {self.most}"

    def _named(self, label: str) -> str:
        return f"{label}: the name"

    def _entry_label(self, label: str, written: TextNode) -> str:
        return f"{label}: {show(written.text)}"

    def schema(self) -> JsonSchema:
        made: JsonSchema = {
            "type": "object",
            "additionalProperties": self.entry.schema(),
            "propertyNames": {"maxLength": MOST_CHARACTERS},
        }
        if self.least:
            made["minProperties"] = self.least
        return made


class Items(Entries[R]):
    """A section of the ship file: a map from names to records. Its entries stand for themselves."""

    whole = False

    def __init__(
        self, item: str, record: type[R], least: int = 0, most: int = MOST_ENTRIES
    ) -> None:
        super().__init__(item, Nested(record, f"a {item}"), least, most)
        self.record = record

    def read_entry(
        self, name: Located[str] | None, node: Node, label: str, problems: Problems
    ) -> R | None:
        if name is None:
            name = Located("", "", node.place)
        record = self.record_for(node, label, problems)
        return read_record(record, node, label, problems, name) if record is not None else None

    def record_for(self, node: Node, label: str, problems: Problems) -> type[R] | None:
        """Which record this entry is; a section of several kinds tells them apart here."""
        del node, label, problems
        return self.record

    def _named(self, label: str) -> str:
        del label
        return f"the name of a {self.item}"

    def _entry_label(self, label: str, written: TextNode) -> str:
        del label
        return f"{self.item} {show(written.text)}"


class Listed(Kind[tuple[Located[T], ...]]):
    """A list of texts of one kind."""

    def __init__(self, entry: Scalar[T], words: str) -> None:
        self.entry = entry
        self.words = words

    def read(self, node: Node, label: str, problems: Problems) -> tuple[Located[T], ...] | None:
        if not isinstance(node, ListNode):
            complain_about_kind(node, label, self.words, problems)
            return None
        if len(node.items) > MOST_ENTRIES:
            problems.add(
                "wrong-count",
                node.place,
                f"{label}: the list is too long",
                got=str(len(node.items)),
                expected=f"at most {MOST_ENTRIES}",
            )
            return None
        values = [self.entry.read(item, label, problems) for item in node.items]
        usable = [value for value in values if value is not None]
        return tuple(usable) if len(usable) == len(values) else None

    def schema(self) -> JsonSchema:
        return {"type": "array", "items": self.entry.schema()}


class OneOrMore(Listed[T]):
    """A text, or a list of such texts."""

    def __init__(self, entry: Scalar[T]) -> None:
        super().__init__(entry, f"{entry.words}, or a list of these")

    def read(self, node: Node, label: str, problems: Problems) -> tuple[Located[T], ...] | None:
        if isinstance(node, TextNode):
            node = ListNode(node.place, (node,))
        return super().read(node, label, problems)

    def schema(self) -> JsonSchema:
        return {"anyOf": [self.entry.schema(), super().schema()]}
