"""Learned sections in the words of a ship file that is there: its names for channels, controls and
positions stay, what was learned of them comes in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from gen.nodes import MapNode, TextNode
from host_tools.learn.text import NO_PIN, Entry, Sections, flow, quoted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from gen.nodes import Node

USUAL_NAMES = {
    "key": ("down", "centre", "up"),
    "switch": ("off", "on"),
    "stick": ("low", "centre", "high"),
}


@dataclass(frozen=True)
class Fitted:
    """The sections in the ship's words, and what is left out because it contradicts the ship."""

    sections: Sections
    left_out: tuple[str, ...]


def fitted(sections: Sections, root: MapNode, bands: Mapping[str, tuple[str, ...]]) -> Fitted:
    """The sections for the ship file of these nodes; `bands` are the names of the learned positions
    of each control, in rising order of width."""
    channels = entries(find(root, "receiver", "channels"))
    controls = entries(find(root, "controls"))
    names = {one.name: _channel_name(one, channels) for one in sections.channels}
    left_out: list[str] = []
    made = []
    unplugged = {
        one.name
        for one in sections.channels
        if names[one.name] not in channels and one.keys.get("pin") == NO_PIN
    }
    left_out += [f"{name}: nobody knows its pin" for name in sorted(unplugged)]
    for one in sections.controls:
        if one.doubt:
            continue
        source = one.keys["from"].strip('"')
        if source in unplugged:
            continue
        moved = replace(one, keys={**one.keys, "from": quoted(names.get(source, source))})
        name = _control_name(moved, controls)
        if name not in controls and len(_read_from(moved, controls)) > 1:
            left_out.append(f"{name}: several controls of the ship file are read from there")
            continue
        entry = _in_words(replace(moved, name=name), controls.get(name), bands[one.name])
        if entry is None:
            left_out.append(f"{name}: the ship file has another number of positions")
        else:
            made.append(entry)
    return Fitted(
        Sections(
            sections.receiver,
            tuple(
                _without_pin(replace(one, name=names[one.name]), channels)
                for one in sections.channels
                if not one.doubt and one.name not in unplugged
            ),
            tuple(made),
        ),
        tuple(left_out),
    )


def find(root: Node | None, *path: str) -> Node | None:
    """The value under these keys; None if there is none."""
    for key in path:
        if not isinstance(root, MapNode):
            return None
        root = next((value for name, value in root.entries if name.text == key), None)
    return root


def entries(section: Node | None) -> dict[str, Node]:
    """The entries of a section by name."""
    if not isinstance(section, MapNode):
        return {}
    return {key.text: value for key, value in section.entries}


def text_of(node: Node | None, key: str, shorthand: str = "") -> str:
    """A key's text in an entry, which may be that text alone; "" if it is not there."""
    if isinstance(node, TextNode):
        return node.text if key == shorthand else ""
    value = find(node, key)
    return value.text if isinstance(value, TextNode) else ""


def _channel_name(one: Entry, channels: Mapping[str, Node]) -> str:
    """What the ship calls it: by name, else by its pin."""
    if one.name in channels:
        return one.name
    by_pin = {text_of(node, "pin", "pin"): name for name, node in channels.items()}
    return by_pin.get(one.keys.get("pin", one.name), one.name)


def _without_pin(one: Entry, channels: Mapping[str, Node]) -> Entry:
    """The ship knows the pins of its own channels."""
    if one.name not in channels:
        return one
    return replace(one, keys={key: text for key, text in one.keys.items() if key != "pin"})


def _control_name(one: Entry, controls: Mapping[str, Node]) -> str:
    """What the ship calls it: by name, else the only one that is read from there."""
    if one.name in controls:
        return one.name
    there = _read_from(one, controls)
    return there[0] if len(there) == 1 else one.name


def _read_from(one: Entry, controls: Mapping[str, Node]) -> list[str]:
    """The controls of the ship that are read from the same channel and slot."""
    source, slot = one.keys["from"].strip('"'), one.keys.get("slot", "")
    return [
        name
        for name, node in controls.items()
        if (text_of(node, "from", "from"), text_of(node, "slot")) == (source, slot)
    ]


def _in_words(one: Entry, node: Node | None, learned: tuple[str, ...]) -> Entry | None:
    """With the ship's names of its positions; None if it has another number of them."""
    if node is None or not learned:
        return one
    positions = find(node, "positions")
    if isinstance(positions, MapNode):
        in_order = sorted(positions.entries, key=lambda entry: _low(entry[1]))
        names = tuple(key.text for key, _ in in_order)
    else:
        names = USUAL_NAMES.get(text_of(node, "kind") or "key", ())
    if not names:
        return one
    if len(names) != len(learned):
        return None
    words = dict(zip(learned, names, strict=True))
    widths = [text.split(": ")[-1] for text in one.keys["positions"].strip("{}").split(", ")]
    keys = {
        **one.keys,
        "positions": flow(dict(zip(names, widths, strict=True))),
    }
    if "rest" in keys:
        keys["rest"] = quoted(words[keys["rest"].strip('"')])
    return replace(one, keys=keys)


def _low(node: Node) -> float:
    """The lower end of a band, for its place among others."""
    text = node.text if isinstance(node, TextNode) else ""
    try:
        return float(text.split("..")[0].split()[0])
    except (ValueError, IndexError):
        return 0.0
