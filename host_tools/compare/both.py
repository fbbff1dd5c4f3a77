"""Two ships, compared: everything that the command tells."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.compare.changes import changes, renamed_parts
from host_tools.compare.electrics import electrical_changes
from host_tools.compare.matching import match
from host_tools.compare.sameness import Sameness
from host_tools.compare.verdict import SAME, verdicts
from host_tools.electrical.of_ship import electrics_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from gen.load import Loaded
    from host_tools.compare.changes import Change
    from host_tools.compare.verdict import Verdict


@dataclass(frozen=True)
class Compared:
    """What changed, what matters most first, and what became of every function."""

    same: Sameness
    changes: tuple[Change, ...]
    verdicts: tuple[Verdict, ...]

    @property
    def is_same(self) -> bool:
        """Whether it was proved that the ship does the same."""
        return all(one.verdict == SAME for one in self.verdicts)


def compare(
    old: Loaded, new: Loaded, progress: Callable[[str], None] = lambda _text: None
) -> Compared:
    """Compares two ships."""
    same = Sameness(old.plan, new.plan, match(old.plan, new.plan))
    decided = []
    for one in verdicts(same):
        decided.append(one)
        progress(f"{len(decided)} of {len(new.plan.functions)} functions compared")
    return Compared(same, tuple(all_changes(old, new, same)), tuple(decided))


def all_changes(old: Loaded, new: Loaded, same: Sameness) -> list[Change]:
    """What changed in the files and in the electrical sums, what matters most first."""
    sums = electrical_changes(
        electrics_of(old.ship, old.plan, old.board),
        electrics_of(new.ship, new.plan, new.board),
        renamed_parts(same),
    )
    told = [*changes(old.ship, new.ship, same), *sums]
    return sorted(told, key=lambda one: (one.weight, one.new_line or one.old_line, one.text))
