"""Which control is which, from the guided moves: what moved while its name was asked for."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from host_tools.learn.recording import CannotLearn

if TYPE_CHECKING:
    from host_tools.learn.learned import ControlFound
    from host_tools.learn.recording import Recording


def named(controls: list[ControlFound], recording: Recording) -> list[ControlFound]:
    """The controls with the names that were asked for. Raises CannotLearn (`learn-contradicts`)
    where two moved for one name, or one for two names."""
    names: dict[int, str] = {}
    for step in recording.moves:
        moved = sorted(
            (
                (one.heard.moved_between(step.begin, step.end), number)
                for number, one in enumerate(controls)
            ),
            reverse=True,
        )
        if not moved or not moved[0][0]:
            continue
        number = moved[0][1]
        if len(moved) > 1 and moved[1][0]:
            two = f"{controls[number].name} and {controls[moved[1][1]].name}"
            raise CannotLearn(
                "learn-contradicts",
                f"while '{step.name}' should move, {two} did",
                "record this step again and touch nothing else",
            )
        if names.get(number, step.name) != step.name:
            raise CannotLearn(
                "learn-contradicts",
                f"{controls[number].name} moved for '{names[number]}' and for '{step.name}'",
                "record again; each name is a control of its own",
            )
        names[number] = step.name
    return [replace(one, name=names.get(number, one.name)) for number, one in enumerate(controls)]
