"""Every figure with its goal: `python -m tests.benchmarks [--long]`.

Ends with 1 where a goal is missed. `--long` compares as many ticks as the goals name, with every
starter, which takes more than an hour.
"""

from __future__ import annotations

import argparse
import platform
import sys
from typing import TYPE_CHECKING

from tests.benchmarks import (
    bench_figures,
    bench_page,
    compared,
    damage,
    learning,
    live,
    proofs,
    speed,
)
from tests.benchmarks.firmware_figures import all_figures
from tests.benchmarks.table import Row, at_most, printed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

LONG_LINK_PARTS = 120
"""Ten hours of the link at full load."""


def firmware_rows(*, long_run: bool) -> list[Row]:
    """What is measured in cycles of the simulated chip."""
    return [
        Row(figure.what, figure.subject, f"{figure.value:.4g} {figure.unit}")
        if figure.goal is None
        else at_most(figure.what, figure.subject, figure.value, figure.goal, figure.unit)
        for figure in all_figures(link_parts=LONG_LINK_PARTS if long_run else 1)
    ]


def chosen_rows(chosen: argparse.Namespace, tell: Callable[[str], None]) -> Iterator[Row]:
    """One after the other, as they are measured."""
    if chosen.compare:
        yield from compared.rows(long_run=chosen.long)
        return
    if chosen.agree:
        yield from speed.agreement(long_run=chosen.long, tell=tell)
        return
    if chosen.page:
        yield from bench_figures.rows(long_run=chosen.long)
        yield from bench_page.rows(long_run=chosen.long)
        return
    if chosen.proofs:
        yield from proofs.rows(long_run=chosen.long)
        return
    if not chosen.firmware:
        yield from speed.all_rows(long_run=chosen.long, tell=tell)
        tell("edits of ship files, compared")
        yield from compared.rows(long_run=chosen.long)
        tell("damaged lines")
        yield from damage.rows(long_run=chosen.long)
        tell("proofs")
        yield from proofs.rows(long_run=chosen.long)
        tell("learning radios")
        yield from learning.rows(long_run=chosen.long, tell=tell)
        tell("live agreement")
        yield from live.rows(long_run=chosen.long)
        tell("the bench's page")
        yield from bench_figures.rows(long_run=chosen.long)
        yield from bench_page.rows(long_run=chosen.long)
    tell("firmware")
    yield from firmware_rows(long_run=chosen.long)


def tell_row(row: Row) -> None:
    """At once: the table is printed when the last one is known."""
    print(f"  {row.figure}: {row.of}: {row.value}", file=sys.stderr, flush=True)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("--long", action="store_true", help="as many ticks as the goals name")
    parser.add_argument("--agree", action="store_true", help="only whether the rungs agree")
    parser.add_argument("--compare", action="store_true", help="only edits of ship files, compared")
    parser.add_argument("--firmware", action="store_true", help="only what is measured in cycles")
    parser.add_argument("--page", action="store_true", help="only the bench's page")
    parser.add_argument("--proofs", action="store_true", help="only proofs")
    chosen = parser.parse_args()

    def tell(what: str) -> None:
        print(f"measuring: {what}", file=sys.stderr, flush=True)

    rows: list[Row] = []
    for row in chosen_rows(chosen, tell):
        tell_row(row)
        rows.append(row)
    print(f"{platform.machine()}, Python {platform.python_version()}")
    print(printed(rows))
    return 1 if any(row.met is False for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
