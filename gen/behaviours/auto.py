"""Auto: on by itself while something is felt."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours.base import LOSS_IN_WORDS, Answer, Cells, DrivesKeys, Function, Loss, seconds
from gen.diagnostics import show
from gen.read.keys import Located, key
from gen.read.kinds import LONG, POSITION, Trigger, TriggerText, Words

if TYPE_CHECKING:
    from gen.behaviours.base import FunctionKeys
    from gen.plan import Ask, Felt, Plan, StateOf
    from gen.resolve.context import Context


@dataclass(frozen=True, kw_only=True)
class AutoKeys(DrivesKeys):
    """On by itself while a sensor or the state of another function says so, with times and an
    override by hand. Without a signal it goes on by itself."""

    auto: Located[TriggerText] = key(
        Trigger(), "what switches it on, and for how long it must have been so", required=True
    )
    run_on: Located[int] = key(LONG, "it goes on for so long afterwards", default="0 s")
    longest: Located[int] | None = key(
        LONG, "it runs no longer than this, and then rests until what switched it on has gone"
    )
    by_hand: Located[str] | None = key(POSITION, "the position that holds it on, come what may")
    stop: Located[str] | None = key(
        POSITION, "the position that stops it until what switched it on has gone"
    )
    on_loss: Located[str] = key(
        Words(Loss.OFF, Loss.KEEP),
        "while the signal of its controls is lost: off, or go on by itself",
        default="keep",
    )

    def depends_on(self) -> tuple[Located[str], ...]:
        return (Located(self.auto.value.what, self.auto.text, self.auto.place),)

    def resolve(self, to: Context) -> Auto | None:
        when = to.trigger(self, self.auto, self.auto.value.what)
        by_hand, stop = (
            to.ask(self, position) if position is not None else None
            for position in (self.by_hand, self.stop)
        )
        drives = to.line(self)
        missing = (self.by_hand is not None and by_hand is None) or (
            self.stop is not None and stop is None
        )
        if when is None or drives is None or missing:
            return None
        if by_hand is not None and by_hand == stop:
            assert self.stop is not None  # noqa: S101 - there is a stop, so it was written
            to.problem(
                "same-position",
                self.stop.place,
                f"function {show(self.name.value)}: one position holds it on and stops it",
                got=show(self.stop.text),
            )
            return None
        return Auto(
            name=self.name.value,
            code=to.code(self),
            on_loss=Loss(self.on_loss.value),
            source_line=self.place.line,
            when=when,
            said=self.auto.text,
            wait_ticks=self.auto.value.for_ticks,
            run_on_ticks=self.run_on.value,
            longest_ticks=self.longest.value if self.longest is not None else 0,
            by_hand=by_hand,
            stop=stop,
            drives=drives,
        )


@dataclass(frozen=True, kw_only=True)
class Auto(Function):
    """On once `when` has been so for `wait_ticks` (IEC 61131-3 TON) and until it has not been so
    for `run_on_ticks` (TOF), but never for more than `longest_ticks` (0: any time): it then rests
    until it is no longer so. `by_hand` holds it on; `stop` stops it and sends it to rest.
    """

    key: ClassVar[str] = "auto"
    written: ClassVar[type[FunctionKeys]] = AutoKeys

    when: Felt | StateOf
    wait_ticks: int
    run_on_ticks: int
    longest_ticks: int
    by_hand: Ask | None
    stop: Ask | None
    drives: int
    said: str = field(default="", compare=False, metadata={"in_plan_id": False})
    """The ship file's words for `when` and the wait."""

    @property
    def conditions(self) -> tuple[Felt | StateOf, ...]:
        return (self.when,)

    @property
    def controls(self) -> tuple[int, ...]:
        asks = (self.by_hand, self.stop)
        return tuple(sorted({ask.control for ask in asks if ask is not None}))

    @property
    def lines(self) -> tuple[int, ...]:
        return (self.drives,)

    @property
    def longest_run_ticks(self) -> int | None:
        return self.longest_ticks if self.longest_ticks and self.by_hand is None else None

    def cells(self, plan: Plan) -> Cells:
        by_hand, stop = (
            plan.ask_code(ask) if ask is not None else "nobody" for ask in (self.by_hand, self.stop)
        )
        return Cells(
            asked_by=(f"ByHand{{{by_hand}}}", f"StoppedBy{{{stop}}}"),
            limits=(f"AutoTicks{{{self.wait_ticks}, {self.run_on_ticks}, {self.longest_ticks}}}",),
            drives=(plan.lines[self.drives].code,),
            on_loss=(f"Loss::{self.on_loss}",),
            remark=self.limits_in_words(plan),
        )

    @property
    def answers(self) -> tuple[Answer, ...]:
        asks = ((self.by_hand, "on while held"), (self.stop, "stopped, until what set it off ends"))
        return tuple(Answer(ask.control, ask.position, does) for ask, does in asks if ask)

    def limits_in_words(self, plan: Plan) -> str:
        del plan
        times = [
            self.said,
            f"runs on {seconds(self.run_on_ticks)}" if self.run_on_ticks else "",
            f"at most {seconds(self.longest_ticks)}" if self.longest_ticks else "",
        ]
        return ", ".join(filter(None, times))

    @property
    def loss_in_words(self) -> str:
        return "goes on by itself" if self.on_loss is Loss.KEEP else LOSS_IN_WORDS[self.on_loss]
