"""What sets a rhythm or a dimmer going, as `logic/trigger.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours.trigger import When

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.behaviours.trigger import Trigger
    from host_tools.model.receiver import ControlState


class TriggerModel:
    """One trigger at work."""

    def __init__(self, trigger: Trigger, controls: Sequence[ControlState]) -> None:
        self.when = trigger.when
        self.ready = False
        if trigger.ask is not None:
            self.control = controls[trigger.ask.control]
            self.position = trigger.ask.position

    def asked(self, was: bool, so: int, *, by_itself: bool = False) -> bool:
        """Whether it is to go on or off, when it `was` on; `so` is what was told. A pattern that
        ends `by_itself` is not pressed off."""
        if self.when is When.PRESSED:
            if self.control.at_rest():
                self.ready = True
            if not (self.ready and self.control.held_at(self.position)):
                return was
            self.ready = False
            return by_itself or not was
        if self.when is When.HELD:
            return self.control.held_at(self.position)
        return self.when is When.ALWAYS or bool(so)
