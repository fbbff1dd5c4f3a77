"""No count wraps into a wrong answer: each stays within bounds that the sketch has bits for.

Of functions it is a claim (`claims/counts.py`), of everything else a lemma. What wraps on purpose
is the digest alone: two sums of unsigned 16-bit words, which the language defines to.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import z3

from host_tools.prove.encoding.channel import ChannelEncoding, SumEncoding
from host_tools.prove.encoding.control import ControlEncoding
from host_tools.prove.encoding.part import Count
from host_tools.prove.encoding.sensors import StageEncoding
from host_tools.prove.lemma import Lemma, any_memory, follows, inside
from host_tools.prove.terms import Terms

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from gen.plan import Plan
    from host_tools.prove.encoding.part import Memory, Part

WIDEST = 0xFFFF
TELLS = "whatever comes, step by step"


def count_lemmas(plan: Plan) -> Iterator[Lemma]:
    """One for each channel, control and battery stage, and for the sum signal. A sensor's are in
    `pulses.py`, a bench's in `forcing.py`."""
    for channel in plan.channels:
        yield _lemma(channel.name, channel.source_line, _of_channel(channel))
    for control in plan.controls:
        yield _lemma(control.name, control.source_line, _of_control(control))
    if plan.sum_signal is not None:
        yield _lemma("the sum signal", 0, _of_sum(plan.sum_signal))
    for number, stage in enumerate(plan.stages, start=1):
        yield _lemma(f"battery stage {number}", 0, _of_stage(stage))


def _lemma(name: str, line: int, proved: bool) -> Lemma:
    text = f"no count of {name} wraps: each stays within its bounds"
    return Lemma("counts", text, line, proved, TELLS)


def _of_channel(channel: Any) -> bool:
    a = Terms()
    part, width = ChannelEncoding(a, channel), z3.Int("width")
    return _stays(a, part, part.grow) and _stays(
        a, part, lambda me: part.hear(me, width), 0 <= width, width <= WIDEST
    )


def _of_control(control: Any) -> bool:
    a = Terms()
    part, width = ControlEncoding(a, control), z3.Int("width")
    heard, alive, lost = z3.Bool("heard"), z3.Bool("alive"), z3.Bool("lost")
    return _stays(
        a, part, lambda me: part.hear(me, heard, width), 0 <= width, width <= WIDEST
    ) and _stays(a, part, lambda me: part.judge(me, alive, lost))


def _of_sum(described: Any) -> bool:
    a = Terms()
    part, interval = SumEncoding(a, described), z3.Int("interval")
    return _stays(a, part, lambda me: part.hear(me, interval), 0 <= interval, interval <= WIDEST)


def _of_stage(stage: Any) -> bool:
    a = Terms()
    part, value = StageEncoding(a, stage), z3.Int("value")
    return _stays(a, part, lambda me: part.look(me, value))


def _stays(a: Terms, part: Part, step: Callable[[Memory], Any], *given: Any) -> bool:
    """Whether a step leaves all that a part remembers within its bounds, and they fit."""
    before, me = any_memory(part, "p")
    step(me)
    kept = a.both(inside(a, part, me), part.keeps(me))
    return fits(part) and follows(a, [inside(a, part, before), part.keeps(before), *given], kept)


def fits(part: Part) -> bool:
    """Whether the sketch can hold every count of a part."""
    return all(one.fits for one in part.variables().values() if isinstance(one, Count))
