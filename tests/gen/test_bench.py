"""The key `bench`, and what a sketch has because of it."""

from __future__ import annotations

import re

import pytest

from gen.boards import load_board
from gen.plan import FORCE, Bench
from gen.render import render
from tests.gen.small import problems, small

NANO = load_board("nano")
FUNCTIONS = "functions:\n  lamp"


def with_bench(written: str) -> tuple[str, str]:
    return FUNCTIONS, f"bench: {written}\n{FUNCTIONS}"


@pytest.mark.parametrize(
    ("written", "bench"),
    [
        ("yes", Bench("")),
        ("no", None),
        ("{allowed: yes}", Bench("")),
        ("{jumper: D11}", Bench("D11")),
        ("{jumper: D11, allowed: yes}", Bench("D11")),
        ("{jumper: D11, allowed: no}", None),
        ("{}", None),  # what is not said is not allowed
    ],
)
def test_who_may(written: str, bench: Bench | None) -> None:
    assert small(with_bench(written)).plan.bench == bench


def test_nobody_may_unless_it_is_said() -> None:
    assert small().plan.bench is None


def test_a_jumper_keeps_its_pin_while_it_is_forbidden() -> None:
    told = problems(with_bench("{jumper: D5, allowed: no}"))
    assert [problem.code for problem in told] == ["pin-twice"]


def test_each_way_is_another_plan() -> None:
    ways = ["no", "yes", "{jumper: D11}", "{jumper: D12}"]
    assert len({small(with_bench(way)).plan.plan_id for way in ways}) == len(ways)


def test_what_is_forced_is_the_last_reading() -> None:
    assert small().plan.readings == ()
    assert small(with_bench("yes")).plan.readings == (FORCE,)


def test_the_words_for_what_can_be_forced() -> None:
    lamp, davit, arm = sorted(small().plan.functions, key=lambda function: function.source_line)
    assert lamp.forces == ("off", "on")
    assert davit.forces == ("stopped", "lowering", "raising")
    assert arm.forces == ("rest", "low end", "high end")


def test_a_sketch_without_a_bench_has_nothing_of_it() -> None:
    sketch = render(small().plan, NANO)
    assert "src/logic/force.h" not in sketch
    for name in ("gannet.ino", "src/ship.h", "src/tick.h", "src/sizes.h"):
        assert not re.search("force|bench", sketch[name], re.IGNORECASE), name


def test_the_sketch_says_who_may_and_pulls_the_jumper_up() -> None:
    always = render(small(with_bench("yes")).plan, NANO)
    jumper = render(small(with_bench("{jumper: D11}")).plan, NANO)
    assert "// A computer on USB may work it, always:" in always["gannet.ino"]
    assert "may work it, after power-up with D11 on ground:" in jumper["gannet.ino"]
    assert re.search(r"^// D11 +bench jumper, to ground, pulled up$", jumper["gannet.ino"], re.M)
    levels, pins = (  # D11 is PB3, D9 is PB1 (ATmega328P): an input with its pull-up, and a servo
        re.search(rf"  {register}B = 0b([01]+);", jumper["src/board/wiring.h"])
        for register in ("PORT", "DDR")
    )
    assert levels is not None
    assert pins is not None
    assert (levels[1], pins[1]) == ("00001000", "00000010")


def test_every_function_is_asked_with_its_own_number() -> None:
    tick = render(small(with_bench("yes")).plan, NANO)["src/tick.h"]
    assert re.findall(r"force_state\.to\((\d)\)", tick) == ["0", "1", "2"]
