"""Names that stand for a thing of one section of the ship file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.diagnostics import nearest, show

if TYPE_CHECKING:
    from gen.diagnostics import Problems
    from gen.read.keys import Located
    from gen.read.sections import Section


def find_named(
    name: Located[str],
    section: Section[Any] | None,
    *,
    label: str,
    kind: str,
    where: str,
    problems: Problems,
) -> bool:
    """Whether `section` (the ship file's `where`) has a thing of this name, a `kind`; notes if not.
    What stands there and is unusable has been complained about and counts as found."""
    known = section.items.keys() | section.broken if section is not None else set()
    if name.value in known:
        return True
    problems.add(
        "unknown-name",
        name.place,
        f"{label}: there is no such {kind}",
        got=show(name.text),
        hint=nearest(name.value, known) if known else f"add a section '{where}:'",
    )
    return False
