"""A ship file, read whole: what every command and the bench begin with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.diagnostics import Problem, Problems, ShipError, nearest, show
from gen.load import load, load_text
from gen.read.rules import read_rules
from gen.read.trial_steps import read_trials

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from gen.boards import Board
    from gen.load import Loaded
    from gen.plan import Plan
    from gen.read.rules import Rule
    from gen.read.steps import Trial
    from gen.ship import Ship


@dataclass(frozen=True)
class OpenedShip:
    """A ship file without errors."""

    path: Path
    ship: Ship
    plan: Plan
    board: Board
    trials: tuple[Trial, ...]
    rules: tuple[Rule, ...] = ()
    warnings: tuple[Problem, ...] = ()

    def trials_named(self, names: Sequence[str]) -> list[Trial]:
        """Its trials of these names. Raises ShipError (`unknown-name`) with all that it has not."""
        known = {trial.name: trial for trial in self.trials}
        unknown = [name for name in names if name not in known]
        if unknown:
            raise ShipError(
                Problem(
                    file=str(self.path),
                    line=0,
                    col=0,
                    code="unknown-name",
                    what="the ship file has no such trial",
                    got=show(name),
                    hint=nearest(name, known),
                )
                for name in unknown
            )
        return [known[name] for name in names]


def opened_file(path: Path) -> OpenedShip:
    """Reads a ship file with its trials and rules. Raises ShipError with all errors."""
    return _opened(load(path), path)


def opened_text(content: bytes, path: Path) -> OpenedShip:
    """The same from what would stand in the file."""
    return _opened(load_text(content, path.name), path)


def _opened(loaded: Loaded, path: Path) -> OpenedShip:
    problems = Problems(str(path))
    trials = read_trials(loaded.ship, loaded.plan, problems)
    rules = read_rules(loaded.ship, loaded.plan, problems)
    problems.stop_on_errors()
    warnings = tuple(loaded.problems)
    return OpenedShip(path, loaded.ship, loaded.plan, loaded.board, trials, rules, warnings)
