"""What changed in the electrical sums: fuses, wires, worst currents, contacts, endurance.

Only what a person would buy, fit or worry about: a current that moved by less than a hundredth of
itself is as it was.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from host_tools.compare.changes import Change
from host_tools.compare.weight import FUSES, LOSS, WIRED

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from host_tools.electrical.electrics import Branch, Electrics, Fuse

NEAR = 0.01


def electrical_changes(old: Electrics, new: Electrics, renamed: Mapping[str, str]) -> list[Change]:
    """All that the sums say otherwise; `renamed` are new names of parts by the old ones."""
    return [
        *_fuses(old, new, renamed),
        *_branches(old, new, renamed),
        *_contacts(old, new, renamed),
        *_findings(old, new),
    ]


def _fuses(old: Electrics, new: Electrics, renamed: Mapping[str, str]) -> Iterator[Change]:
    before: dict[str, Fuse] = {renamed.get(one.branch, one.branch): one for one in old.fuses}
    after = {one.branch: one for one in new.fuses}
    for name in dict.fromkeys([*before, *after]):
        mine, theirs = before.get(name), after.get(name)
        if _fuse(mine) != _fuse(theirs):
            yield _change(
                ("fuse of", name, ""), (_fuse(mine), _fuse(theirs)), (mine, theirs), FUSES
            )


def _fuse(fuse: Fuse | None) -> str:
    return f"{fuse.rating_a:g} A {fuse.kind}" if fuse is not None else ""


def _branches(old: Electrics, new: Electrics, renamed: Mapping[str, str]) -> Iterator[Change]:
    before: dict[str, Branch] = {renamed.get(one.name, one.name): one for one in old.branches}
    for one in new.branches:
        mine = before.get(one.name)
        if mine is None:
            continue
        for what, was, now in (
            ("worst current", mine.worst, one.worst),
            ("current while held fast", mine.stalls, one.stalls),
        ):
            if not _near(was, now):
                yield _change(
                    (one.of, one.name, what), (_shown(was), _shown(now)), (mine, one), FUSES
                )
        if mine.wire != one.wire:
            yield _change((one.of, one.name, "wire"), (mine.wire, one.wire), (mine, one), WIRED)


def _contacts(old: Electrics, new: Electrics, renamed: Mapping[str, str]) -> Iterator[Change]:
    before = {renamed.get(one.name, one.name): one for one in old.connectors}
    for one in new.connectors:
        mine = before.get(one.name)
        if mine is None:
            continue
        carried = {contact.number: contact.carries for contact in mine.contacts}
        for contact in one.contacts:
            was = carried.get(contact.number, "")
            if renamed.get(was, was) != contact.carries:
                what = f"contact {contact.number}"
                yield _change(
                    ("connector", one.name, what), (was, contact.carries), (mine, one), WIRED
                )


def _findings(old: Electrics, new: Electrics) -> Iterator[Change]:
    """What the sums find unsafe or unwise that they did not, and the other way round."""
    before = {one.what: one for one in old.findings}
    after = {one.what: one for one in new.findings}
    for text, one in after.items():
        if text not in before:
            word = "unsafe" if one.is_error else "unwise"
            weight = LOSS if one.is_error else FUSES
            yield Change("power", "", f"now {word}: {text}", "", "", 0, one.place.line, weight)
    for text, one in before.items():
        if text not in after:
            what = f"no longer found: {text}"
            yield Change("power", "", what, "", "", one.place.line, 0, FUSES)


def _near(one: Any, other: Any) -> bool:
    if one is None or other is None:
        return one is other
    return math.isclose(one.value, other.value, rel_tol=NEAR, abs_tol=1e-9)


def _shown(figure: Any) -> str:
    return figure.shown() if figure is not None else ""


def _change(
    about: tuple[str, str, str], texts: tuple[str, str], records: tuple[Any, Any], weight: int
) -> Change:
    old, new = (one.place.line if one is not None else 0 for one in records)
    return Change(*about, *texts, old, new, weight)
