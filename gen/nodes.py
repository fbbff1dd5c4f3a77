"""YAML text -> nodes: every scalar stays a text with its place; nothing is guessed.

Only the plain core of YAML is taken: maps, lists and texts in one document. What a ship file has no
use for and what surprises people (tags, anchors and aliases, tabs, two equal keys, two documents)
is refused where it stands.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from gen.diagnostics import WHOLE_FILE, Place, Problems, show

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

MOST_BYTES = 1 << 17
MOST_DEPTH = 20
MOST_NODES = 20_000
"""All far beyond any ship, and small enough that every file is judged within a second."""

_BREAK = re.compile(r"\r\n|\r|\n")
_TAB = re.compile(r"^(?:[^#\t]|(?<=\S)#)*\t")
_UNSEEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")
"""Control characters, and those that make an editor show a line otherwise than it is read."""


@dataclass(frozen=True, slots=True)
class TextNode:
    """Any scalar: `true`, `010`, `D2` and `"D2"` are all just texts."""

    place: Place
    text: str
    begins: int | None = None
    """How many characters behind `place` the text itself begins; None where it does not stand in
    the file as it is read, in one line."""


@dataclass(frozen=True, slots=True)
class ListNode:
    """Items in order."""

    place: Place
    items: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class MapNode:
    """Keys and values in the order of the file; no key comes twice."""

    place: Place
    entries: tuple[tuple[TextNode, Node], ...]


@dataclass(frozen=True, slots=True)
class BrokenNode:
    """Something already complained about, which nobody needs to complain about again."""

    place: Place


Node = TextNode | ListNode | MapNode | BrokenNode


def read_nodes(path: Path, problems: Problems) -> MapNode:
    """The map that this file holds. Raises ShipError when it holds none."""
    try:
        with path.open("rb") as stream:
            content = stream.read(MOST_BYTES + 1)  # enough to see that it is too much
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error) or type(error).__name__
        problems.add("cannot-read", WHOLE_FILE, f"the file cannot be read: {reason}")
        content = b""
    problems.stop_on_errors()
    return parse_nodes(content, problems)


def parse_nodes(content: bytes, problems: Problems) -> MapNode:
    """The same from a file's content."""
    if len(content) > MOST_BYTES:
        problems.add(
            "too-large",
            WHOLE_FILE,
            "the file is too large",
            expected=f"at most {MOST_BYTES} bytes",
        )
        problems.stop_on_errors()
    text = _decoded(content, problems)
    _refuse_unseen(text, problems)
    problems.stop_on_errors()
    root = _Builder(problems).build(text)
    if not isinstance(root, MapNode | BrokenNode):
        place = root.place if root is not None else Place(1, 1)
        what = "the file holds no keys" if root is not None else "the file is empty"
        problems.add("not-a-map", place, what, expected="keys such as 'ship: Skerry Maid'")
    if not isinstance(root, MapNode):
        problems.stop_on_errors()
        raise AssertionError("a root that is no map has been complained about")
    return root


def _decoded(content: bytes, problems: Problems) -> str:
    content = content.removeprefix(b"\xef\xbb\xbf")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        before = _BREAK.split(content[: error.start].decode("utf-8"))
        problems.add(
            "not-utf8",
            Place(len(before), len(before[-1]) + 1),
            "the file is not UTF-8",
            got=f"byte 0x{content[error.start]:02x}",
            hint="save it again as UTF-8",
        )
        return ""


def _refuse_unseen(text: str, problems: Problems) -> None:
    for number, line in enumerate(_BREAK.split(text), start=1):
        tab = _TAB.match(line) if "\t" in line else None
        if tab is not None:
            problems.add(
                "tab",
                Place(number, tab.end()),
                "a tab cannot be told from spaces",
                hint="use spaces",
            )
        for unseen in _UNSEEN.finditer(line):
            problems.add(
                "unseen-character",
                Place(number, unseen.start() + 1),
                "a character that cannot be seen",
                got=f"U+{ord(unseen.group()):04X}",
            )


def _begins(event: Any) -> int | None:
    """Where a scalar's text begins, see TextNode: behind its quote if it has one."""
    quotes = 1 if event.style in ("'", '"') else 0
    one_line = event.start_mark.line == event.end_mark.line
    width = event.end_mark.column - event.start_mark.column
    return quotes if one_line and width == len(event.value) + 2 * quotes else None


@dataclass(slots=True)
class _Open:
    """A map or list that has begun and not yet ended; of a map, keys and values in turn."""

    place: Place
    is_map: bool
    children: list[Node]


class _Builder:
    """Builds the tree from the parser's events: without recursion, so that depth is no danger."""

    def __init__(self, problems: Problems) -> None:
        self.problems = problems

    def build(self, text: str) -> Node | None:
        """The root, None in an empty file. Raises ShipError if it is not YAML."""
        import yaml  # noqa: PLC0415 - kept away from the start of the command line

        root: Node | None = None
        open_nodes: list[_Open] = []
        documents = 0
        for event in self._events(text):
            place = Place(event.start_mark.line + 1, event.start_mark.column + 1)
            done: Node | None = None
            match event:
                case yaml.DocumentStartEvent():
                    documents += 1
                    if documents > 1:
                        self._add("two-documents", place, "a second document begins here")
                        break
                case yaml.AliasEvent():
                    self._add("anchor", place, "aliases are not used", got=f"'*{event.anchor}'")
                    done = BrokenNode(place)
                case yaml.ScalarEvent():
                    self._refuse_extras(event, place)
                    done = TextNode(place, event.value, _begins(event))
                case yaml.MappingStartEvent() | yaml.SequenceStartEvent():
                    self._refuse_extras(event, place)
                    is_map = isinstance(event, yaml.MappingStartEvent)
                    open_nodes.append(_Open(place, is_map, []))
                    if len(open_nodes) > MOST_DEPTH:
                        self._add("too-deep", place, f"more than {MOST_DEPTH} levels deep")
                        self.problems.stop_on_errors()
                case yaml.MappingEndEvent() | yaml.SequenceEndEvent():
                    done = self._closed(open_nodes.pop())
            if done is None:
                continue
            if open_nodes:
                open_nodes[-1].children.append(done)
            else:
                root = done
        if isinstance(root, TextNode) and not root.text:
            return None
        return root

    def _events(self, text: str) -> Iterator[Any]:
        """The parser's events, MOST_NODES at most; the C parser where there is one, its complaints
        reworded by the other so that a message is the same on every computer."""
        import yaml  # noqa: PLC0415 - as above

        loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
        try:
            for number, event in enumerate(yaml.parse(text, Loader=loader)):
                if number > MOST_NODES:
                    self._add("too-large", WHOLE_FILE, f"more than {MOST_NODES} keys and values")
                    self.problems.stop_on_errors()
                yield event
        except yaml.YAMLError as error:
            self._complain(self._reworded(text) or error)

    @staticmethod
    def _reworded(text: str) -> Exception | None:
        import yaml  # noqa: PLC0415 - as above

        depth = 0
        try:
            for event in yaml.parse(text, Loader=yaml.SafeLoader):
                if isinstance(event, yaml.CollectionStartEvent):
                    depth += 1
                elif isinstance(event, yaml.CollectionEndEvent):
                    depth -= 1
                if depth > MOST_DEPTH:
                    break  # the slow parser's time grows with the square of the depth
        except yaml.YAMLError as error:
            return error
        return None

    def _complain(self, error: Any) -> None:
        mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
        place = Place(mark.line + 1, mark.column + 1) if mark is not None else WHOLE_FILE
        reason = getattr(error, "problem", None) or str(error).partition("\n")[0]
        if "document start" in reason:
            self._add("two-documents", place, "a second document begins here")
            self.problems.stop_on_errors()
        hint = ""
        if "mapping values are not allowed" in reason:
            hint = "put a text that holds ': ' in quotes, and check the indentation"
        elif "@" in reason or "`" in reason or "%" in reason:
            hint = "put a text that begins with such a sign in quotes"
        self._add("not-yaml", place, f"not YAML: {reason}", hint=hint)
        self.problems.stop_on_errors()

    def _refuse_extras(self, event: Any, place: Place) -> None:
        if event.anchor is not None:
            self._add("anchor", place, "anchors are not used", got=f"'&{event.anchor}'")
        if event.tag is not None:
            self._add(
                "tag",
                place,
                "tags are not used",
                got=show(event.tag.replace("tag:yaml.org,2002:", "!!")),
            )

    def _closed(self, node: _Open) -> Node:
        if not node.is_map:
            return ListNode(node.place, tuple(node.children))
        entries: list[tuple[TextNode, Node]] = []
        seen: dict[str, Place] = {}
        for key, value in zip(node.children[::2], node.children[1::2], strict=True):
            if not isinstance(key, TextNode):
                if not isinstance(key, BrokenNode):
                    self._add("bad-key", key.place, "a key is a plain text")
            elif key.text in seen:
                first = seen[key.text]
                self._add(
                    "duplicate-key",
                    key.place,
                    f"the key {show(key.text)} is here twice",
                    hint=f"the first is in line {first.line}",
                )
            else:
                seen[key.text] = key.place
                entries.append((key, value))
        return MapNode(node.place, tuple(entries))

    def _add(self, code: str, place: Place, what: str, *, got: str = "", hint: str = "") -> None:
        self.problems.add(code, place, what, got=got, hint=hint)
