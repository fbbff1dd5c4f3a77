"""Which pin is whose."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import nearest, show

if TYPE_CHECKING:
    from gen.boards import Board, Pin
    from gen.diagnostics import Problems
    from gen.read.keys import Located


class Pins:
    """The board's pins, handed out one by one."""

    def __init__(self, board: Board, problems: Problems) -> None:
        self.board = board
        self.problems = problems
        self._taken: dict[str, str] = {}

    def take(self, label: Located[str], owner: str) -> Pin | None:
        """The pin of this label, now that of `owner`; None after noting why it cannot be."""
        pin = self._take(label, owner)
        if pin is not None and not pin.digital:
            what = f"{owner}: the pin can only measure"
            self.problems.add(
                "pin-analogue", label.place, what, got=show(label.text), expected="a digital pin"
            )
            return None
        return pin

    def take_to_measure(self, label: Located[str], owner: str) -> Pin | None:
        """The same for a pin that the chip can measure the voltage of."""
        pin = self._take(label, owner)
        if pin is not None and pin.analogue is None:
            self.problems.add(
                "pin-no-measure",
                label.place,
                f"{owner}: the pin cannot measure a voltage",
                got=show(label.text),
                expected="one of "
                + self._list([p.name for p in self.board.pins.values() if p.analogue is not None]),
            )
            return None
        return pin

    def take_shifted(self, output: str, label: Located[str], owner: str) -> None:
        """Makes an output of a shift register that of `owner`, or notes that it is taken."""
        whole = f"{owner} in line {label.place.line}"
        first = self._taken.setdefault(output, whole)
        if first != whole:
            self.problems.add(
                "pin-twice",
                label.place,
                f"{owner}: the output is taken by {first}",
                got=show(label.text),
            )

    def _take(self, label: Located[str], owner: str) -> Pin | None:
        board, place, got = self.board, label.place, show(label.text)
        pin = board.pin(label.value)
        if pin is None:
            hint = nearest(label.value, [*board.pins, *board.aliases])
            if f"D{label.value}" in board.pins:
                hint = f"write D{label.value}"
            what = f"{owner}: the {board.name} has no such pin"
            self.problems.add("unknown-pin", place, what, got=got, hint=hint)
            return None
        first = self._taken.setdefault(pin.name, f"{owner} in line {place.line}")
        if first != f"{owner} in line {place.line}":
            what = f"{owner}: the pin is taken by {first}"
            hint = f"free: {self._free()}"
            self.problems.add("pin-twice", place, what, got=got, hint=hint)
        elif pin.reserved:
            what = f"{owner}: the pin is not free, {pin.reserved}"
            self.problems.add("pin-reserved", place, what, got=got)
        else:
            return pin
        return None

    def take_for_channel(self, label: Located[str], owner: str) -> Pin | None:
        """The same for a pin whose every edge must interrupt the processor."""
        pin = self.take(label, owner)
        if pin is not None and pin.change_group is None:
            self.problems.add(
                "pin-no-interrupt",
                label.place,
                f"{owner}: the pin has no pin-change interrupt",
                got=show(label.text),
                expected="one of " + self._list(self._with_interrupt()),
                hint=f"{self.board.chip} datasheet, External Interrupts: PCINT pins",
            )
            return None
        return pin

    def _with_interrupt(self) -> list[str]:
        pins = self.board.pins.values()
        return [p.name for p in pins if p.change_group is not None and not p.reserved]

    def _free(self) -> str:
        pins = self.board.pins.values()
        free = [p.name for p in pins if p.digital and not p.reserved and p.name not in self._taken]
        return self._list(free[:12]) if free else "none"

    @staticmethod
    def _list(labels: list[str]) -> str:
        return ", ".join(labels)
