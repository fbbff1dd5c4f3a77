"""A force ends: the encoding of a bench is what the simulated board and the sketch do, and what is
claimed of it falls where it does not."""

from __future__ import annotations

import random
import subprocess
from typing import TYPE_CHECKING, Any

import pytest

from gen.boards import load_board
from gen.plan import NO_FORCE, force_of
from gen.render import render
from host_tools.link.identity import BENCH_ON
from host_tools.link.simulated.bench import Bench
from host_tools.logic.rung import FLAGS, find_compiler
from host_tools.prove.algebra import Whole
from host_tools.prove.encoding.bench import BenchEncoding
from host_tools.prove.forcing import force_lemmas
from tests.host_tools.prove.faults import momentary, toggle, winch
from tests.host_tools.prove.forced_faults import with_bench

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from host_tools.prove.encoding.part import Memory

PLAN = with_bench(momentary(), toggle(), winch())
TICKS = 40_000
SPELLS = (1, 1, 2, 2, 3, 30, 58, 59, 60, 61, 300, 940, 999, 1000, 1001)

Order = tuple[str, int, int]

HARNESS = """
#include "link/bench.h"
#include <stdio.h>
#include <string.h>
const uint8_t forces[FUNCTIONS] = { %s };
int main() {
  Bench bench;
  bench.start(true);
  char word[16];
  unsigned first, second;
  while (scanf("%%15s %%u %%u", word, &first, &second) == 3) {
    if (strcmp(word, "tick") == 0) {
      printf("%%u\\n", bench.forced());
      bench.tick(first != 0);
      continue;
    }
    bench.host_is_there();
    if (strcmp(word, "arm") == 0) bench.arm(static_cast<uint16_t>(first));
    if (strcmp(word, "force") == 0) bench.force(static_cast<uint16_t>(first),
                                                static_cast<uint16_t>(second), 0);
    if (strcmp(word, "free") == 0) bench.let_go();
  }
}
"""


def orders(seed: int) -> Iterator[list[Order]]:
    """What a host says before each tick, the tick last, with whether it is barred: around the times
    at which something ends."""
    draw = random.Random(seed)
    functions = len(PLAN.functions)
    ticks = 0
    while ticks < TICKS:
        said: list[Order] = []
        for _ in range(draw.choice((1, 1, 2, 3))):
            word = draw.choice(("arm", "arm", "force", "force", "force", "here", "here", "free"))
            function = draw.randrange(functions + 1)
            said.append((word, function, draw.randrange(4)))
        spell = draw.choice(SPELLS)
        patient = draw.random() < 0.4  # says that it is there in every tenth tick
        for tick in range(spell):
            here: list[Order] = [("here", 0, 0)] if patient and tick % 10 == 0 else []
            yield [*(said if tick == 0 else here), ("tick", int(draw.random() < 0.002), 0)]
        ticks += spell


def by_encoding(seed: int) -> list[int]:
    """What it forces in each tick."""
    bench = BenchEncoding(Whole(), PLAN)
    me, forced = bench.start(), []
    for said in orders(seed):
        for word, first, second in said:
            if word == "tick":
                forced.append(force_of(me.forced - 1, me.state) if me.forced else NO_FORCE)
                bench.tick(me, bool(first))
                continue
            bench.hear(me)
            if word == "arm":
                bench.arm(me, first + 1)
            elif word == "force":
                bench.force(me, first + 1, second)
            elif word == "free":
                bench.let_go(me)
    return forced


def by_board(seed: int) -> list[int]:
    """The same of the simulated board."""
    bench, forced = Bench(PLAN, BENCH_ON), []
    for now, said in enumerate(orders(seed)):
        for word, first, second in said:
            if word == "tick":
                forced.append(bench.force)
                bench.end_tick(now, force_is_barred=bool(first))
                continue
            bench.hear(now)
            words = {"arm": f"arm {first}", "force": f"force {first} {second}"}.get(word, word)
            bench.obey(0, words, now)
    return forced


def by_sketch(seed: int, folder: Path) -> list[int]:
    """The same of the sketch's own text, compiled for this computer."""
    for name, text in render(PLAN, load_board("nano")).items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    counts = ", ".join(str(len(function.forces)) for function in PLAN.functions)
    (folder / "main.cpp").write_text(HARNESS % counts, encoding="utf-8")
    program = folder / "run"
    subprocess.run(
        [find_compiler(), *FLAGS, "-I", folder / "src", "-include", "sizes.h",
         folder / "main.cpp", "-o", program],
        check=True,
    )  # fmt: skip
    said = "\n".join(f"{word} {a} {b}" for spell in orders(seed) for word, a, b in spell)
    done = subprocess.run([program], input=said, text=True, capture_output=True, check=True)
    return [int(line) for line in done.stdout.split()]


@pytest.mark.parametrize("seed", range(4))
def test_the_encoding_is_the_simulated_board(seed: int) -> None:
    forced = by_encoding(seed)
    assert 0 < sum(one != NO_FORCE for one in forced) < len(forced)
    assert forced == by_board(seed)


@pytest.mark.slow
def test_the_encoding_is_the_sketch(tmp_path: Path) -> None:
    assert by_encoding(7) == by_sketch(7, tmp_path)


def test_a_force_ends() -> None:
    proved = list(force_lemmas(PLAN))
    assert len(proved) == 4
    assert all(lemma.proved for lemma in proved)


def _deaf_to_silence(self: BenchEncoding, me: Memory, is_barred: Any) -> None:
    silent = me.silent
    _TICK(self, me, is_barred)
    me.silent = silent


def _without_end(self: BenchEncoding, me: Memory, is_barred: Any) -> None:
    since = me.since_armed
    _TICK(self, me, is_barred)
    me.since_armed = since


def _deaf_to_rules(self: BenchEncoding, me: Memory, is_barred: Any) -> None:
    del is_barred
    _TICK(self, me, False)


def _unarmed(self: BenchEncoding, me: Memory, function: Any, state: Any) -> None:
    was = me.armed
    me.armed = function
    _FORCE(self, me, function, state)
    me.armed = was


def _armed_for_ever(self: BenchEncoding, me: Memory, function: Any, state: Any) -> None:
    was = me.since_armed
    me.since_armed = 0
    _FORCE(self, me, function, state)
    me.since_armed = was


def _stays_armed(self: BenchEncoding, me: Memory, when: Any = True) -> None:
    was = me.armed
    _LET_GO(self, me, when)
    me.armed = was


_TICK, _FORCE, _LET_GO = BenchEncoding.tick, BenchEncoding.force, BenchEncoding.let_go


@pytest.mark.parametrize(
    ("method", "wrong", "said"),
    [
        ("tick", _deaf_to_silence, "silent"),
        ("tick", _without_end, "at the latest"),
        ("tick", _deaf_to_rules, "forbid"),
        ("force", _unarmed, "not armed"),
        ("force", _armed_for_ever, "not armed"),
        ("let_go", _stays_armed, "armed again"),
    ],
)
def test_a_bench_that_does_otherwise_is_not_proved(
    method: str, wrong: Callable[..., None], said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(BenchEncoding, method, wrong)
    (lemma,) = (one for one in force_lemmas(PLAN) if said in one.text)
    assert not lemma.proved
