"""The kinds of value that stand in a ship file."""

from __future__ import annotations

import dataclasses
import re
from decimal import Decimal
from typing import TYPE_CHECKING, TypeVar

from gen.diagnostics import nearest
from gen.names import MOST_CHARACTERS, check_code, check_text
from gen.plan import HALF_US_PER_US, MAX_TICKS, TICK_US
from gen.read.keys import Scalar
from gen.units import (
    ANGLE,
    AREA,
    CHARGE,
    CURRENT,
    GAUGE,
    HOURS,
    LENGTH,
    PERCENT,
    PULSES,
    ROTATION,
    SLOTS,
    SMALL_RESISTANCE,
    TEMPERATURE,
    TIME,
    TORQUE,
    TURN_SPEED,
    VOLTAGE,
    WIDTH_SPEED,
    Measure,
    Wrong,
    divider,
    half_us,
    half_us_range,
    quantity,
    ticks,
    us_text,
)

if TYPE_CHECKING:
    from gen.read.keys import JsonSchema

T = TypeVar("T")

MOST_SHIFTED = 64
"""As many outputs of shift registers as a tick's record has room for."""

_NUMBER = r"[0-9]+(\.[0-9]+)?"


class Text(Scalar[str]):
    """Free text that is safe wherever it is repeated."""

    def __init__(self, words: str, most_characters: int) -> None:
        self.words = words
        self.most_characters = most_characters

    def parse(self, text: str) -> str:
        check_text(text, self.most_characters)
        return text

    def schema(self) -> JsonSchema:
        return {
            "type": ["string", "number", "boolean"],  # what YAML takes a text for
            "maxLength": self.most_characters,
            "description": self.words,
        }


MOST_SLOTS = 24


class Words(Scalar[str]):
    """One of a few words."""

    def __init__(self, *words: str) -> None:
        self.choices = words
        self.words = " or ".join(filter(None, (", ".join(words[:-1]), words[-1])))

    def parse(self, text: str) -> str:
        if text not in self.choices:
            raise Wrong("unknown-word", "is unknown", self.words, _did_you_mean(text, self.choices))
        return text

    def schema(self) -> JsonSchema:
        return {"enum": list(self.choices)}


class Duration(Scalar[int]):
    """A time, in ticks. Zero only where `least_ticks` is zero."""

    def __init__(self, example: str, least_ticks: int = 1, most_ticks: int = MAX_TICKS) -> None:
        self.words = f"a time such as {example}"
        self.least_ticks = least_ticks
        self.most_ticks = most_ticks

    def parse(self, text: str) -> int:
        size_us, _ = quantity(text, TIME)
        if 0 < size_us < TICK_US:
            raise Wrong("out-of-range", "is shorter than a tick", f"at least {TICK_US // 1000} ms")
        count = ticks(size_us)
        if not self.least_ticks <= count <= self.most_ticks:
            raise Wrong("out-of-range", "is out of range", self._bounds())
        return count

    def _bounds(self) -> str:
        return f"from {ticks_text(self.least_ticks)} to {ticks_text(self.most_ticks)}"

    def schema(self) -> JsonSchema:
        return {"type": "string", "pattern": rf"^{_NUMBER} *(us|ms|s|min)$"}


class Width(Scalar[int]):
    """A pulse width, in half microseconds."""

    def __init__(self, example: str, least_us: int = 0, most_us: int = 3000) -> None:
        self.words = f"a pulse width such as {example}"
        self.least_us = least_us
        self.most_us = most_us

    def parse(self, text: str) -> int:
        width = half_us(text)
        if not self.least_us * HALF_US_PER_US <= width <= self.most_us * HALF_US_PER_US:
            bounds = f"from {self.least_us} us to {self.most_us} us"
            raise Wrong("out-of-range", "is out of range", bounds)
        return width

    def schema(self) -> JsonSchema:
        return {"type": "string", "pattern": rf"^{_NUMBER} *(us|ms)$"}


class Band(Scalar[tuple[int, int]]):
    """A band of pulse widths, both ends included, in half microseconds."""

    def __init__(self, least_us: int = 300, most_us: int = 3000, narrowest_us: int = 0) -> None:
        self.words = "a band of pulse widths such as 900..1300 us"
        self.least_us = least_us
        self.most_us = most_us
        self.narrowest_us = narrowest_us

    def parse(self, text: str) -> tuple[int, int]:
        low, high = half_us_range(text)
        if low < self.least_us * HALF_US_PER_US or high > self.most_us * HALF_US_PER_US:
            bounds = f"within {self.least_us}..{self.most_us} us"
            raise Wrong("out-of-range", "is out of range", bounds)
        if high - low < self.narrowest_us * HALF_US_PER_US:
            wide = us_text(high - low)
            raise Wrong(
                "out-of-range", f"is only {wide} us wide", f"at least {self.narrowest_us} us"
            )
        return low, high

    def schema(self) -> JsonSchema:
        unit = "(us|ms)"
        return {"type": "string", "pattern": rf"^{_NUMBER} *{unit}? *\.\. *{_NUMBER} *{unit}$"}


class Amount(Scalar[Decimal]):
    """A physical quantity in the first unit of its measure (mA, mV …), as an exact decimal."""

    def __init__(self, measure: Measure, most: int, base: str) -> None:
        self.measure = measure
        self.words = measure.expected
        self.most = most
        self.base = base

    def parse(self, text: str) -> Decimal:
        size, _ = quantity(text, self.measure)
        if not 0 < size <= self.most:
            raise Wrong(
                "out-of-range", "is out of range", f"above 0 and at most {self.most} {self.base}"
            )
        return size

    def schema(self) -> JsonSchema:
        units = "|".join(self.measure.units)
        return {"type": "string", "pattern": rf"^{_NUMBER} *({units})$"}


class DutyCycle(Scalar[tuple[int, int]]):
    """A share of a time: the percentage, and the time in ticks."""

    words = "a share of a time such as 25 % of 10 min"

    def parse(self, text: str) -> tuple[int, int]:
        share, found, cycle = text.partition(" of ")
        if not found:
            raise Wrong("wrong-range", "needs a share and a time", self.words)
        most_ticks = 3600 * 1000 * 1000 // TICK_US
        return Percent(1, 99).parse(share), Duration("10 min", 200, most_ticks).parse(cycle)

    def schema(self) -> JsonSchema:
        return {"type": "string", "pattern": rf"^[0-9]+ *% of {_NUMBER} *(ms|s|min)$"}


class Percent(Scalar[int]):
    """A whole percentage; a sign only where `least` is below zero."""

    words = PERCENT.expected

    def __init__(self, least: int, most: int) -> None:
        self.least = least
        self.most = most

    def parse(self, text: str) -> int:
        signed = self.least < 0 and text.startswith(("+", "-"))
        size, _ = quantity(text[1:] if signed else text, PERCENT)
        if signed and text.startswith("-"):
            size = -size
        if size != size.to_integral_value() or not self.least <= size <= self.most:
            bounds = f"a whole number from {self.least} % to {self.most} %"
            raise Wrong("out-of-range", "is out of range", bounds)
        return int(size)

    def schema(self) -> JsonSchema:
        sign = "[+-]?" if self.least < 0 else ""
        return {"type": "string", "pattern": rf"^{sign}{_NUMBER} *%$"}


class Divider(Scalar[tuple[Decimal, Decimal]]):
    """Two resistances in ohm: to the voltage that is measured, and to 0 V."""

    words = "a divider such as 47k/10k"

    def parse(self, text: str) -> tuple[Decimal, Decimal]:
        return divider(text)

    def schema(self) -> JsonSchema:
        side = rf"{_NUMBER} *(ohm|kohm|Mohm|k|M)"
        return {"type": "string", "pattern": rf"^{side} */ *{side}$"}


class Trigger(Scalar["TriggerText"]):
    """What sets something off, and for how long it must have been so."""

    def __init__(
        self, example: str = "a sensor or a function such as 'bilge sensor above 2.5 V for 1 s'"
    ) -> None:
        self.words = example

    def parse(self, text: str) -> TriggerText:
        what, found, for_text = text.rpartition(" for ")
        if not found:
            return TriggerText(text, 0)
        return TriggerText(what.rstrip(), LONG.parse(for_text.strip()))

    def schema(self) -> JsonSchema:
        return {"type": "string", "description": self.words}


@dataclasses.dataclass(frozen=True, slots=True)
class TriggerText:
    """A trigger before its names are looked up: `what` must have been so for `for_ticks`."""

    what: str
    for_ticks: int


class OutputCount(Scalar[int]):
    """How many outputs shift registers have: whole registers."""

    words = "a number of outputs such as 16"

    def parse(self, text: str) -> int:
        if not text.isascii() or not text.isdigit():
            raise Wrong("wrong-number", "needs a whole number", self.words)
        count = int(text)
        if count % 8 or not 8 <= count <= MOST_SHIFTED:
            raise Wrong("out-of-range", "is out of range", f"8, 16, 24 … {MOST_SHIFTED}")
        return count

    def schema(self) -> JsonSchema:
        return {"type": ["integer", "string"], "pattern": "^[0-9]+$"}


class PulseCount(Scalar[int]):
    """A small number of pulses."""

    words = PULSES.expected
    most = 50

    def parse(self, text: str) -> int:
        size, _ = quantity(text, PULSES)
        if size != size.to_integral_value() or not 1 <= size <= self.most:
            bounds = f"a whole number from 1 to {self.most}"
            raise Wrong("out-of-range", "is out of range", bounds)
        return int(size)

    def schema(self) -> JsonSchema:
        return {"type": "string", "pattern": r"^[0-9]+ *pulses?$"}


class SlotCount(Scalar[int]):
    """How many controls share a channel."""

    words = SLOTS.expected

    def parse(self, text: str) -> int:
        size, _ = quantity(text, SLOTS)
        if size != size.to_integral_value() or not 2 <= size <= MOST_SLOTS:
            raise Wrong("out-of-range", "is out of range", f"a whole number from 2 to {MOST_SLOTS}")
        return int(size)

    def schema(self) -> JsonSchema:
        return {"type": "string", "pattern": r"^[0-9]+ *slots?$"}


class Whole(Scalar[int]):
    """A small whole number without a unit."""

    def __init__(self, least: int, most: int) -> None:
        self.least = least
        self.most = most
        self.words = f"a whole number from {least} to {most}"

    def parse(self, text: str) -> int:
        if not re.fullmatch("[0-9]{1,9}", text):
            raise Wrong("wrong-number", "is no whole number", self.words)
        if not self.least <= int(text) <= self.most:
            raise Wrong("out-of-range", "is out of range", self.words)
        return int(text)

    def schema(self) -> JsonSchema:
        return {"type": "integer", "minimum": self.least, "maximum": self.most}


class Marker(Scalar[tuple[bool, int]]):
    """Which pulses mark the beginning of a cycle: whether those below a width, and the width."""

    words = "'below' or 'above' and a pulse width, such as below 950 us"

    def parse(self, text: str) -> tuple[bool, int]:
        side, _, width = text.partition(" ")
        if side not in ("below", "above"):
            raise Wrong("unknown-word", "is unknown", self.words)
        return side == "below", half_us(width.strip())

    def schema(self) -> JsonSchema:
        return {"type": "string", "pattern": rf"^(below|above) +{_NUMBER} *(us|ms)$"}


class Speed(Scalar[tuple[Decimal, bool]]):
    """How fast a servo moves: a number, and whether it is in degrees (else in us) a second."""

    words = f"{TURN_SPEED.expected} or {WIDTH_SPEED.example}"

    def parse(self, text: str) -> tuple[Decimal, bool]:
        size, measure = quantity(text, TURN_SPEED, WIDTH_SPEED)
        if not 0 < size <= 100_000:
            raise Wrong("out-of-range", "is out of range", "above 0 and at most 100000")
        return size, measure is TURN_SPEED

    def schema(self) -> JsonSchema:
        return {"type": "string", "pattern": rf"^{_NUMBER} *(deg/s|us/s)$"}


class YesNo(Scalar[bool]):
    """Yes or no."""

    words = "yes or no"

    def parse(self, text: str) -> bool:
        if text not in ("yes", "no"):
            raise Wrong("unknown-word", "is unknown", self.words)
        return text == "yes"

    def schema(self) -> JsonSchema:
        # An editor may see a boolean in an unquoted yes, as YAML 1.1 has it.
        return {"enum": ["yes", "no", True, False]}


class Plain(Scalar[str]):
    """A text that is looked up later: the name of a pin, a control, a board."""

    def __init__(self, words: str) -> None:
        self.words = words

    def parse(self, text: str) -> str:
        return text

    def schema(self) -> JsonSchema:
        return {"type": ["string", "number", "boolean"], "description": self.words}


class CodeName(Scalar[str]):
    """A name for use in the sketch."""

    words = "a word in lower-case Latin letters"

    def parse(self, text: str) -> str:
        return check_code(text)

    def schema(self) -> JsonSchema:
        return {"type": "string", "pattern": "^[a-z](_?[a-z0-9])*_?$"}


class Step(Scalar[str]):
    """One step of a trial, in the step language."""

    words = "a step such as 'press foredeck key up for 0.3 s'"

    def parse(self, text: str) -> str:
        check_text(" ".join(text.split()), 200)
        return " ".join(text.split())


@dataclasses.dataclass(frozen=True, slots=True)
class WireSize:
    """The size of a wire as it is sold: a cross section in mm2, or an American wire gauge."""

    mm2: Decimal | None = None
    awg: int | None = None


class Wire(Scalar[WireSize]):
    """The size of a wire."""

    words = "a wire such as 0.5 mm2 or AWG 20"
    MOST_MM2 = 50
    MOST_AWG = 40

    def parse(self, text: str) -> WireSize:
        if text[:3].upper() == "AWG":
            text = f"{text[3:].strip()} AWG"
        size, measure = quantity(text, AREA, GAUGE)
        if measure is AREA:
            if not Decimal("0.01") <= size <= self.MOST_MM2:
                bounds = f"from 0.01 mm2 to {self.MOST_MM2} mm2"
                raise Wrong("out-of-range", "is out of range", bounds)
            return WireSize(mm2=size)
        if size != size.to_integral_value() or size > self.MOST_AWG:
            raise Wrong("out-of-range", "is out of range", f"from AWG 0 to AWG {self.MOST_AWG}")
        return WireSize(awg=int(size))

    def schema(self) -> JsonSchema:
        return {"type": "string", "pattern": rf"^({_NUMBER} *(mm2|mm²|AWG)|AWG *[0-9]+)$"}


class OrAuto(Scalar[T | None]):
    """A value of another kind; None is "auto": the electrical sums choose it."""

    def __init__(self, kind: Scalar[T]) -> None:
        self.kind = kind
        self.words = f"auto, or {kind.words}"

    def parse(self, text: str) -> T | None:
        return None if text == "auto" else self.kind.parse(text)

    def schema(self) -> JsonSchema:
        return {"anyOf": [{"const": "auto"}, self.kind.schema()]}


AUTO, NONE = "auto", "none"


class FuseSize(Scalar[Decimal | str]):
    """The rating of a fuse in mA, AUTO (the electrical sums choose it) or NONE (there is none)."""

    words = "auto, none, or a current such as 5 A"

    def parse(self, text: str) -> Decimal | str:
        return text if text in (AUTO, NONE) else ANY_CURRENT.parse(text)

    def schema(self) -> JsonSchema:
        return {"anyOf": [{"enum": [AUTO, NONE]}, ANY_CURRENT.schema()]}


class Number(Scalar[Decimal]):
    """A number without a unit."""

    def __init__(self, least: str, most: str, words: str, ending: str = "") -> None:
        self.least, self.most = Decimal(least), Decimal(most)
        self.words = words
        self.ending = ending

    def parse(self, text: str) -> Decimal:
        number = text.removesuffix(self.ending) if self.ending else text
        if not re.fullmatch(_NUMBER, number.strip()):
            raise Wrong("wrong-number", "is no number", self.words)
        if not self.least <= Decimal(number) <= self.most:
            raise Wrong("out-of-range", "is out of range", f"from {self.least} to {self.most}")
        return Decimal(number)

    def schema(self) -> JsonSchema:
        text = {"type": "string", "pattern": rf"^{_NUMBER} *{re.escape(self.ending)}$"}
        return {"anyOf": [{"type": "number"}, text]}


class Temperature(Scalar[Decimal]):
    """A temperature in degrees Celsius."""

    words = TEMPERATURE.expected

    def parse(self, text: str) -> Decimal:
        below = text.startswith("-")
        size, _ = quantity(text.removeprefix("-"), TEMPERATURE)
        if size > (40 if below else 90):
            raise Wrong("out-of-range", "is out of range", "from -40 C to 90 C")
        return -size if below else size

    def schema(self) -> JsonSchema:
        return {"type": "string", "pattern": rf"^-?{_NUMBER} *°?C$"}


def ticks_text(count: int) -> str:
    """A number of ticks as a time: "5 ms", "327.675 s"."""
    ms = count * TICK_US // 1000
    whole, rest = divmod(ms, 1000)
    if whole == 0:
        return f"{ms} ms"
    return f"{whole}.{rest:03d}".rstrip("0").rstrip(".") + " s"


def _did_you_mean(text: str, known: tuple[str, ...]) -> str:
    hint = nearest(text, known)
    return hint if hint.startswith("did you mean") else ""


NAME = Text("a name", MOST_CHARACTERS)
MOST_LONG_TICKS = 720_000
LONG = Duration("5 s", least_ticks=0, most_ticks=MOST_LONG_TICKS)
"""A time of up to an hour, or none."""

ANY_CURRENT = Amount(CURRENT, 1_000_000, "mA")
PIN_CURRENT = Amount(dataclasses.replace(CURRENT, example="5 mA"), 1_000, "mA")
ANY_VOLTAGE = Amount(VOLTAGE, 1_000_000, "mV")
BOARD_SUPPLY = Amount(dataclasses.replace(VOLTAGE, example="5 V"), 5_500, "mV")
ANY_CHARGE = Amount(CHARGE, 1_000_000, "mAh")
ANY_ANGLE = Amount(ANGLE, 3600, "deg")
ANY_LENGTH = Amount(LENGTH, 100_000, "mm")
SMALL_LENGTH = Amount(dataclasses.replace(LENGTH, example="8 mm"), 1_000, "mm")
ANY_RESISTANCE = Amount(SMALL_RESISTANCE, 1_000_000, "mOhm")
ANY_ROTATION = Amount(ROTATION, 100_000, "rpm")
ANY_TORQUE = Amount(TORQUE, 100_000, "mNm")
ANY_HOURS = Amount(HOURS, 100, "h")
EFFICIENCY = Amount(PERCENT, 100, "%")
PIN = Plain("a pin such as D5")
CONTROL = Plain("the name of a control")
POSITION = Plain("a control and one of its positions such as 'foredeck key up'")
FELT = Plain("what a sensor says such as 'davit low closed'")
DOING = Plain("a function, or one and its state, such as 'deck lights' or 'davit lowering'")
CODE_NAME = CodeName()
