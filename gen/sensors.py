"""The section of sensors as its owner wrote it: what the ship feels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.diagnostics import nearest, show
from gen.nodes import MapNode, TextNode
from gen.read.keys import Located, Named, key, record_schema
from gen.read.kinds import BOARD_SUPPLY, CODE_NAME, PIN, Divider, Duration, Plain, Words
from gen.read.sections import Items

if TYPE_CHECKING:
    from decimal import Decimal

    from gen.diagnostics import Problems
    from gen.nodes import Node
    from gen.read.keys import JsonSchema


@dataclass(frozen=True, kw_only=True)
class DigitalItem(Named):
    """A contact: an end switch, a float, a light barrier."""

    shorthand: ClassVar[str] = "pin"

    pin: Located[str] = key(PIN, "its pin", required=True)
    kind: Located[str] = key(Words("digital"), "digital", default="digital")
    active: Located[str] = key(
        Words("low", "high"),
        "the level of a closed contact; a low one is pulled up inside the chip",
        default="low",
    )
    debounce: Located[int] = key(
        Duration("20 ms", most_ticks=200),
        "it must be still for so long before it counts",
        default="20 ms",
    )
    code_name: Located[str] | None = key(CODE_NAME, "its name in the sketch")


@dataclass(frozen=True, kw_only=True)
class AnalogueItem(Named):
    """A voltage, measured as a share of the board's supply."""

    pin: Located[str] = key(Plain("a measuring pin such as A0"), "its pin", required=True)
    kind: Located[str] = key(Words("analogue"), "analogue", required=True)
    divider: Located[tuple[Decimal, Decimal]] | None = key(
        Divider(), "two resistors that bring a higher voltage into the board's range"
    )
    filter: Located[int] = key(
        Duration("100 ms", least_ticks=0, most_ticks=2000),
        "it follows a jump to 63 % in this time; 0 s for none",
        default="100 ms",
    )
    reference: Located[Decimal] = key(
        BOARD_SUPPLY,
        "the board's supply, which it is measured against: better as you measure it",
        default="5 V",
    )
    code_name: Located[str] | None = key(CODE_NAME, "its name in the sketch")


SensorItem = DigitalItem | AnalogueItem


class Sensors(Items[SensorItem]):
    """The section of sensors, which are of two kinds."""

    RECORDS = (DigitalItem, AnalogueItem)

    def __init__(self) -> None:
        super().__init__("sensor", DigitalItem)

    def record_for(self, node: Node, label: str, problems: Problems) -> type[SensorItem] | None:
        entries = node.entries if isinstance(node, MapNode) else ()
        kind = next((value for written, value in entries if written.text == "kind"), None)
        analogue = isinstance(kind, TextNode) and kind.text == "analogue"
        if isinstance(kind, TextNode) and not analogue and kind.text != "digital":
            problems.add(
                "unknown-word",
                kind.place,
                f"{label}: kind is unknown",
                got=show(kind.text),
                expected="analogue or digital",
                hint=nearest(kind.text, ("analogue", "digital")),
            )
            return None
        return AnalogueItem if analogue else DigitalItem

    def schema(self) -> JsonSchema:
        made = super().schema()
        made["additionalProperties"] = {"anyOf": [record_schema(one) for one in self.RECORDS]}
        return made
