"""Follow: a servo goes where a knob or stick points."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours.base import Answer, Cells, DrivesKeys, Function, Loss, seconds
from gen.plan import HALF_US_PER_US, SERVO_FRACTION, TICK_US
from gen.read.keys import Located, Nested, Record, key
from gen.read.kinds import CONTROL, POSITION, Band, Duration, Percent, Speed, Width, Words, YesNo
from gen.read.sections import Entries, Section
from gen.units import us_text

if TYPE_CHECKING:
    from gen.behaviours.base import FunctionKeys
    from gen.plan import Ask, Plan
    from gen.resolve.context import Context, ServoPlace, StickPlace

_STEPS_PER_US_PER_TICK = SERVO_FRACTION * HALF_US_PER_US * TICK_US

SHARES = 256
"""A curve or a share of 100 % is so many parts."""

LEAST_REACH_HALF_US = 260
"""From its centre (less the dead band) to each end a stick moves so far at least: the sketch keeps
2^24 divided by that in 16 bits."""


@dataclass(frozen=True, kw_only=True)
class TiedKeys(Record):
    """Two sticks that can be tied together."""

    with_: Located[str] = key(CONTROL, "the stick that is obeyed instead", required=True)
    by: Located[str] = key(POSITION, "for as long as this position is held", required=True)


@dataclass(frozen=True, kw_only=True)
class FollowKeys(DrivesKeys):
    """A servo or a speed controller goes where a knob or stick points. The middle of the one is the
    middle of the other, and so are the ends."""

    follow: Located[str] = key(CONTROL, "the knob or stick that it follows", required=True)
    speed: Located[tuple[Decimal, bool]] | None = key(
        Speed(), "how fast the servo moves: as fast as it can unless given"
    )
    ends: Located[tuple[int, int]] | None = key(
        Band(500, 2500, narrowest_us=10), "its end points: those of the servo's range unless given"
    )
    centre: Located[int] | None = key(
        Width("1520 us"), "its trim, where it stands in the middle: between its ends unless given"
    )
    dead_band: Located[int] = key(
        Width("10 us", most_us=200), "around its middle the stick moves nothing", default="0 us"
    )
    curve: Located[int] = key(
        Percent(0, 100),
        "0 % moves evenly; more is finer in the middle and faster outside",
        default="0 %",
    )  # fmt: skip - the words stay on one line
    reverse: Located[bool] = key(YesNo(), "whether it turns the other way", default="no")
    tied: TiedKeys | None = key(
        Nested(TiedKeys, "keys such as with, by"), "another stick that it can be tied to"
    )
    mix: Section[Located[int]] | None = key(
        Entries("stick", Percent(-100, 100), 1, 1, "a stick and its share such as 'wheel: 30 %'"),
        "another stick whose share is added, so that two servos answer two sticks",
    )
    neutral_first: Located[int] | None = key(
        Duration("2 s"),
        "for a speed controller: it is given rest for so long, and until its stick is there",
    )
    on_loss: Located[str] = key(
        Words(Loss.OFF, Loss.KEEP),
        "what it does while the signal is lost: go to rest, or stay",
        default="off",
    )

    def resolve(self, to: Context) -> Follow | None:
        stick = to.stick(self, self.follow)
        servo = to.servo(self)
        tied, mixed = self._tied(to), self._mixed(to)
        if stick is None or servo is None:
            return None
        label = f"function '{self.name.value}'"
        self._check_reach(stick, self.dead_band.value, self.follow, to)
        ends = servo.range_half_us
        if self.ends is not None:
            ends = self.ends.value
            if not servo.range_half_us[0] <= ends[0] < ends[1] <= servo.range_half_us[1]:
                to.problem(
                    "out-of-range",
                    self.ends.place,
                    f"{label}: its end points lie outside of the servo's range",
                    got=f"'{self.ends.text}'",
                    expected=_within(servo.range_half_us),
                )
        centre = sum(ends) // 2 if self.centre is None else self.centre.value
        if self.centre is not None and not ends[0] <= centre <= ends[1]:
            to.problem(
                "out-of-range",
                self.centre.place,
                f"{label}: its centre lies outside of its end points",
                got=f"'{self.centre.text}'",
                expected=_within(ends),
            )
        return Follow(
            name=self.name.value,
            code=to.code(self),
            on_loss=Loss(self.on_loss.value),
            source_line=self.place.line,
            stick=Stick(stick.index, stick.centre_half_us),
            dead_half_us=self.dead_band.value,
            curve_per_256=_per_256(self.curve.value),
            travel_half_us=(ends[0], centre, ends[1]),
            drives=servo.index,
            reverse=self.reverse.value,
            step_per_256=self._step_per_256(servo),
            tied=tied,
            mixed=mixed,
            neutral_ticks=self.neutral_first.value if self.neutral_first is not None else 0,
        )

    def _tied(self, to: Context) -> Tied | None:
        if self.tied is None:
            return None
        stick, ask = to.stick(self, self.tied.with_), to.ask(self, self.tied.by)
        if stick is None or ask is None:
            return None
        self._check_reach(stick, 0, self.tied.with_, to)
        return Tied(Stick(stick.index, stick.centre_half_us), ask)

    def _mixed(self, to: Context) -> Mixed | None:
        if self.mix is None:
            return None
        ((name, share),) = self.mix.items.items()
        other = Located(name, name, self.mix.places[name])
        stick = to.stick(self, other)
        if stick is None:
            return None
        self._check_reach(stick, 0, other, to)
        return Mixed(Stick(stick.index, stick.centre_half_us), _per_256(share.value))

    def _check_reach(
        self, stick: StickPlace, dead_half_us: int, name: Located[str], to: Context
    ) -> None:
        low, high = stick.ends_half_us
        reach = min(stick.centre_half_us - low, high - stick.centre_half_us) - dead_half_us
        if reach < LEAST_REACH_HALF_US:
            to.problem(
                "out-of-range",
                name.place,
                f"function '{self.name.value}': from centre and dead band to an end '{name.value}' "
                "moves too little to be followed",
                got=f"{us_text(max(reach, 0))} us",
                expected=f"at least {us_text(LEAST_REACH_HALF_US)} us",
            )

    def _step_per_256(self, servo: ServoPlace) -> int:
        """The largest move in one tick, in 1/256 half microseconds: at least one, so that a slow
        servo arrives, and at most the whole range."""
        low, high = servo.range_half_us
        whole = (high - low) * SERVO_FRACTION
        if self.speed is None:
            return whole
        size, in_degrees = self.speed.value
        half_us_per_s = (
            size * (high - low) / servo.travel_deg if in_degrees else size * HALF_US_PER_US
        )
        step = half_us_per_s * SERVO_FRACTION * TICK_US / 1_000_000
        return min(whole, max(1, int(step.to_integral_value(ROUND_HALF_UP))))


def _per_256(percent: int) -> int:
    """The nearest number of 256ths; halves go away from zero."""
    size = (abs(percent) * SHARES + 50) // 100
    return size if percent >= 0 else -size


def _within(ends: tuple[int, int]) -> str:
    return f"within {us_text(ends[0])}..{us_text(ends[1])} us"


@dataclass(frozen=True, slots=True)
class Stick:
    """A knob or stick (an index into `Plan.controls`) and its width in its middle."""

    control: int
    centre_half_us: int


@dataclass(frozen=True, slots=True)
class Tied:
    """Another stick that is obeyed instead while `ask` is held."""

    stick: Stick
    ask: Ask


@dataclass(frozen=True, slots=True)
class Mixed:
    """Another stick whose deflection is added, times `share_per_256`."""

    stick: Stick
    share_per_256: int


@dataclass(frozen=True, kw_only=True)
class Follow(Function):
    """A stick's deflection is counted from -4096 at its low end over 0 in its middle, where it does
    nothing within `dead_half_us`, to 4096 at its high end:

        d = ((|width - centre| - dead) * round(2^24 / (reach - dead)) + 2048) >> 12

    where reach is from the centre to that end; it never exceeds 4096. `curve_per_256` k takes
    resolution from its ends to its middle, y = (1 - k) x + k x^3:

        cubed = ((d * d >> 12) * d) >> 12      y = (d * (256 - k) + cubed * k) >> 8

    Then what is mixed in is added, the sum kept within -4096 and 4096, turned round by `reverse`
    and mapped to the low, middle and high width of `travel_half_us`, rounded. The servo moves at
    most `step_per_256` (1/256 half microseconds) each tick.

    With `neutral_ticks` it stays at rest until its stick has pointed there for so many ticks in a
    row, and after a loss for one.
    """

    key: ClassVar[str] = "follow"
    memory_begins_from_plan: ClassVar[bool] = True
    written: ClassVar[type[FunctionKeys]] = FollowKeys

    stick: Stick
    dead_half_us: int = 0
    curve_per_256: int = 0
    travel_half_us: tuple[int, int, int]
    drives: int
    reverse: bool
    step_per_256: int
    tied: Tied | None = None
    mixed: Mixed | None = None
    neutral_ticks: int = 0

    @property
    def controls(self) -> tuple[int, ...]:
        used = {self.stick.control}
        if self.tied is not None:
            used |= {self.tied.stick.control, self.tied.ask.control}
        if self.mixed is not None:
            used.add(self.mixed.stick.control)
        return tuple(sorted(used))

    @property
    def servos(self) -> tuple[int, ...]:
        return (self.drives,)

    @property
    def states(self) -> tuple[str, ...]:
        return ("at rest", "away")

    @property
    def forces(self) -> tuple[str, ...]:
        return ("rest", "low end", "high end")

    @property
    def lingers(self) -> bool:
        return True

    @property
    def moves(self) -> bool:
        return True

    @property
    def type_name(self) -> str:
        more = self.tied is not None or self.mixed is not None or self.neutral_ticks
        return "FollowMore" if more else "Follow"

    @property
    def headers(self) -> tuple[str, ...]:
        return ("follow", "follow_more") if self.type_name == "FollowMore" else ("follow",)

    def cells(self, plan: Plan) -> Cells:
        limits: tuple[str, ...] = (
            f"Travel{{{', '.join(_width(width) for width in self.travel_half_us)}}}",
            f"Curve{{{self.curve_per_256}}}",
            "Turn::reverse" if self.reverse else "Turn::same",
            f"StepPer256{{{self.step_per_256}}}",
        )
        asked_by: tuple[str, ...] = (self._deflection(plan, self.stick, self.dead_half_us),)
        if self.type_name == "FollowMore":
            asked_by += (self._tie_cell(plan), self._mix_cell(plan))
            limits += (f"NeutralTicks{{{self.neutral_ticks}}}",)
        return Cells(
            asked_by=asked_by,
            limits=limits,
            drives=(plan.servos[self.drives].code,),
            on_loss=(f"Loss::{self.on_loss}",),
            remark=self.limits_in_words(plan),
        )

    @property
    def answers(self) -> tuple[Answer, ...]:
        made = [Answer(self.stick.control, None, "follows")]
        if self.mixed is not None:
            made.append(Answer(self.mixed.stick.control, None, "adds its share"))
        if self.tied is not None:
            made.append(Answer(self.tied.stick.control, None, "follows while tied"))
            made.append(Answer(self.tied.ask.control, self.tied.ask.position, "tied while held"))
        return tuple(made)

    @property
    def loss_in_words(self) -> str:
        return "stays where it is" if self.on_loss is Loss.KEEP else "goes to its rest"

    @staticmethod
    def _deflection(plan: Plan, stick: Stick, dead_half_us: int = 0) -> str:
        value = plan.value_code(stick.control)
        return (
            f"Deflection{{{value}, Centre{{{_width(stick.centre_half_us)}, "
            f"{_width(dead_half_us)}}}}}"
        )

    def _tie_cell(self, plan: Plan) -> str:
        if self.tied is None:
            return "Tie{}"
        return f"Tie{{{plan.ask_code(self.tied.ask)}, {self._deflection(plan, self.tied.stick)}}}"

    def _mix_cell(self, plan: Plan) -> str:
        if self.mixed is None:
            return "Mix{}"
        return f"Mix{{{self._deflection(plan, self.mixed.stick)}, {self.mixed.share_per_256}}}"

    def limits_in_words(self, plan: Plan) -> str:
        low, high = plan.servos[self.drives].range_half_us
        words = []
        if self.step_per_256 < (high - low) * SERVO_FRACTION:
            words.append(f"at most {self.step_per_256 * 1_000_000 // _STEPS_PER_US_PER_TICK} us/s")
        if self.curve_per_256:
            words.append(f"curve {round(self.curve_per_256 * 100 / SHARES)} %")
        if self.tied is not None:
            words.append(f"can be tied to {plan.controls[self.tied.stick.control].name}")
        if self.mixed is not None:
            share = self.mixed.share_per_256 * 100 / SHARES
            words.append(f"and {share:.0f} % of {plan.controls[self.mixed.stick.control].name}")
        if self.neutral_ticks:
            words.append(f"at rest for {seconds(self.neutral_ticks)} first")
        return ", ".join(words)


def _width(half_us: int) -> str:
    whole, half = divmod(half_us, HALF_US_PER_US)
    return f"half_us({half_us})" if half else f"us({whole})"
