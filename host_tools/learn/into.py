"""Learned sections into a ship file that is there: only the values that were learned change; every
other character, each comment and the order of everything stay.

Each change is a stretch of the text and what comes in its place. What has come out is read again:
it must say the same as before in every other place, or nothing is written.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from gen.diagnostics import Problems
from gen.nodes import ListNode, MapNode, TextNode, parse_nodes
from host_tools.learn.fitting import find
from host_tools.learn.text import flow, quoted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from gen.nodes import Node
    from host_tools.learn.text import Entry, Sections

STEP = "  "
SHORTHANDS = {"channels": "pin", "controls": "from"}


class CannotPlace(Exception):  # noqa: N818 - named after what happened
    """The text is laid out in a way that cannot be changed safely."""


@dataclass
class Editor:
    """A ship file's text and the changes to come: from, to, and the text in their place."""

    text: str
    root: MapNode
    edits: list[tuple[int, int, str]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.starts = [0, *(found.end() for found in re.finditer("\r\n|\r|\n", self.text))]
        self.newline = "\r\n" if "\r\n" in self.text else "\n"

    def at(self, node: Node) -> int:
        """Where a node begins."""
        return self.starts[node.place.line - 1] + node.place.col - 1

    def end(self, node: Node) -> int:
        """Where its text ends, without the comment and the line's end behind it."""
        begin = self.at(node)
        if self.text[begin] in "{[":
            return self._closing(begin) + 1
        if isinstance(node, MapNode):
            return self.end(node.entries[-1][1])
        if isinstance(node, ListNode):
            return self.end(node.items[-1])
        if self.text[begin] in "\"'":
            return self._quote(begin) + 1
        if self.text[begin] in "|>":
            raise CannotPlace
        return self._plain_end(begin, node)

    def _plain_end(self, begin: int, node: Node) -> int:
        """A plain text ends where the rest of it has been read, however it is broken into lines."""
        words = node.text.split() if isinstance(node, TextNode) else []
        place = begin
        for word in words:
            place = self.text.index(word, place) + len(word)
        return place

    def _quote(self, begin: int) -> int:
        mark = self.text[begin]
        place = begin + 1
        while self.text[place] != mark or (mark == "'" and self.text[place : place + 2] == "''"):
            skips = self.text[place] == "\\" and mark == '"'
            place += 2 if skips or self.text[place] == mark else 1
        return place

    def _closing(self, begin: int) -> int:
        """The bracket that closes this one."""
        depth, place = 0, begin
        while True:
            sign = self.text[place]
            if sign in "{[":
                depth += 1
            elif sign in "}]":
                depth -= 1
                if not depth:
                    return place
            elif sign in "\"'" and self.text[place - 1] in " ,:{[\n":
                place = self._quote(place)
            elif sign == "#" and self.text[place - 1] in " \n":
                place = self.text.index("\n", place)
            place += 1

    def replace(self, node: Node, new: str) -> None:
        """Another text in place of a node."""
        self.edits.append((self.at(node), self.end(node), new))

    def add(self, section: MapNode, key: str, value: str) -> None:
        """One more key behind the others of a map."""
        begin = self.at(section)
        if self.text[begin] == "{":
            closing = self._closing(begin)
            inner = self.text[begin + 1 : closing]
            behind = begin + 1 + len(inner.rstrip())
            comma = ", " if section.entries else ""
            if section.entries:
                behind = self.end(section.entries[-1][1])
            self.edits.append((behind, behind, f"{comma}{key}: {value}"))
            return
        indent = " " * (section.entries[0][0].place.col - 1)
        self._line_behind(self.end(section), f"{indent}{key}: {value}")

    def _line_behind(self, place: int, line: str) -> None:
        found = re.compile("\r\n|\r|\n").search(self.text, place)
        if found is None:
            self.edits.append((len(self.text), len(self.text), f"{self.newline}{line}"))
        else:
            self.edits.append((found.end(), found.end(), f"{line}{self.newline}"))

    def done(self) -> str:
        """The text with all changes; of several at one place the first comes first."""
        text = self.text
        in_order = sorted(enumerate(self.edits), key=lambda one: (one[1][0], one[0]), reverse=True)
        for _, (begin, end, new) in in_order:
            text = text[:begin] + new + text[end:]
        return text


def put_into(content: bytes, sections: Sections, name: str) -> str:
    """The text of the ship file with these sections in it. Raises ShipError if it cannot be read,
    CannotPlace if it is laid out so that nothing can be put into it safely."""
    root = parse_nodes(content, Problems(name))
    editor = Editor(content.removeprefix(b"\xef\xbb\xbf").decode(), root)
    try:
        _receiver(editor, sections)
        _section(editor, root, "controls", sections.controls)
        made = editor.done()
        again = parse_nodes(made.encode(), Problems(name))
    except (ValueError, IndexError) as error:
        raise CannotPlace from error
    if plain(again) != _expected(plain(root), sections):
        raise CannotPlace
    return made


def _receiver(editor: Editor, sections: Sections) -> None:
    receiver = find(editor.root, "receiver")
    if receiver is None:
        lines = ["receiver:", *(f"{STEP}{key}: {text}" for key, text in sections.receiver.items())]
        if sections.channels:
            lines += [f"{STEP}channels:", *(one.line(STEP * 2) for one in sections.channels)]
        if len(lines) > 1:
            _append(editor, lines)
        return
    if not isinstance(receiver, MapNode):
        raise CannotPlace
    for key, text in sections.receiver.items():
        _set(editor, receiver, key, text)
    if sections.channels:
        _section(editor, receiver, "channels", sections.channels)


def _section(editor: Editor, parent: MapNode, key: str, listed: tuple[Entry, ...]) -> None:
    if not listed:
        return
    section = find(parent, key)
    if section is None:
        if parent is editor.root:
            _append(editor, [f"{key}:", *(one.line(STEP) for one in listed)])
        else:
            inside = ", ".join(f"{quoted(one.name)}: {flow(one.keys)}" for one in listed)
            editor.add(parent, key, "{" + inside + "}")
        return
    if not isinstance(section, MapNode):
        raise CannotPlace
    there = {name.text: value for name, value in section.entries}
    for one in listed:
        node = there.get(one.name)
        if node is None:
            editor.add(section, quoted(one.name), flow(one.keys))
        elif isinstance(node, MapNode):
            for name, text in one.keys.items():
                _set(editor, node, name, text)
        elif one.keys and isinstance(node, TextNode):
            short = SHORTHANDS[key]
            keys = {short: quoted(node.text), **one.keys}
            if len(keys) > 1 or one.keys.get(short, keys[short]) != keys[short]:
                editor.replace(node, flow(keys))


def _set(editor: Editor, node: MapNode, key: str, text: str) -> None:
    value = find(node, key)
    if value is None:
        editor.add(node, key, text)
    elif plain(value) != plain_text(text):
        editor.replace(value, text)


def _append(editor: Editor, lines: list[str]) -> None:
    end = len(editor.text)
    before = "" if editor.text.endswith("\n") or not editor.text else editor.newline
    editor.edits.append((end, end, before + editor.newline.join(["", *lines, ""])))


Plain = str | list["Plain"] | dict[str, "Plain"]


def plain(node: Node) -> Plain:
    """What a node says, without its places."""
    if isinstance(node, MapNode):
        return {key.text: plain(value) for key, value in node.entries}
    if isinstance(node, ListNode):
        return [plain(one) for one in node.items]
    return node.text if isinstance(node, TextNode) else ""


def plain_text(text: str) -> Plain:
    """What a value written as text says."""
    return plain(parse_nodes(f"value: {text}\n".encode(), Problems("")).entries[0][1])


def _expected(before: Plain, sections: Sections) -> Plain:
    """What the ship file must say afterwards."""
    root = dict(before) if isinstance(before, dict) else {}
    receiver = dict(_map(root.get("receiver")))
    receiver |= {key: plain_text(text) for key, text in sections.receiver.items()}
    if sections.channels:
        receiver["channels"] = _merged(_map(receiver.get("channels")), sections.channels, "pin")
    if receiver:
        root["receiver"] = receiver
    if sections.controls:
        root["controls"] = _merged(_map(root.get("controls")), sections.controls, "from")
    return root


def _merged(before: Mapping[str, Plain], listed: tuple[Entry, ...], short: str) -> dict[str, Plain]:
    made = dict(before)
    for one in listed:
        keys = {key: plain_text(text) for key, text in one.keys.items()}
        old = made.get(one.name)
        if isinstance(old, str):
            made[one.name] = {short: old, **keys} if set(keys) - {short} else old
        else:
            made[one.name] = {**_map(old), **keys}
    return made


def _map(value: Plain | None) -> Mapping[str, Plain]:
    return value if isinstance(value, dict) else {}
