"""Step: the next of a list of states at each press."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours.base import Answer, Cells, Function, FunctionKeys, Loss, Table
from gen.behaviours.driven import DRIVEN
from gen.behaviours.remembering import KEPT_BYTES, REMEMBER, check_remember
from gen.diagnostics import show
from gen.lightness import DUTIES, brightness_of
from gen.read.keys import Located, key
from gen.read.kinds import POSITION, Words, YesNo
from gen.read.sections import Entries, Section

if TYPE_CHECKING:
    from gen.behaviours.driven import Driven
    from gen.plan import Ask, Plan
    from gen.resolve.context import Context

MOST_STATES = 16
MOST_OUTPUTS = 8


@dataclass(frozen=True, kw_only=True)
class StepKeys(FunctionKeys):
    """The next of a list of states at each press, and the one before at each press of another
    position. The first state is off: it has nothing on."""

    step: Located[str] = key(POSITION, "the position that steps on", required=True)
    back: Located[str] | None = key(POSITION, "the position that steps back")
    states: Section[tuple[Located[Driven], ...]] = key(
        Entries("state", DRIVEN, least=2, most=MOST_STATES, words="names, each with its outputs"),
        "the states in their order, each with the outputs that are on in it: 'nothing', one, or a"
        " list; a dimmer may be 'at' a percentage",
        required=True,
    )
    at_the_end: Located[str] = key(
        Words("wrap", "stop"), "what a press does in the last state, or back in the first",
        default="wrap",
    )  # fmt: skip
    on_loss: Located[str] = key(
        Words(Loss.OFF, Loss.KEEP), "what it does while the signal is lost", default="off"
    )
    remember: Located[bool] = key(YesNo(), REMEMBER, default="no")

    def driven(self) -> tuple[Located[str], ...]:
        every = [one for row in self.states for one in row if one.value.output]
        return tuple(Located(one.value.output, one.text, one.place) for one in every)

    def resolve(self, to: Context) -> Step | None:
        label = f"function {show(self.name.value)}"
        check_remember(self, self.remember, to)
        ask = to.ask(self, self.step)
        back = to.ask(self, self.back) if self.back is not None else None
        rows = list(self.states.items.items())
        named = {one.value.output: one for _, row in rows for one in row if one.value.output}
        found = {name: to.lamp(self, one) for name, one in named.items()}
        if ask is None or None in found.values() or (self.back is not None and back is None):
            return None
        if ask == back:
            to.problem(
                "same-position",
                self.back.place if self.back is not None else self.place,
                f"{label}: one position asks for both ways",
                got=show(self.step.text),
            )
        lines = tuple(sorted(one.line for one in found.values() if one and one.line is not None))
        lights = tuple(sorted(o.light for o in found.values() if o and o.light is not None))
        if len(lines) > MOST_OUTPUTS or len(lights) > MOST_OUTPUTS:
            to.problem(
                "wrong-count",
                self.states.place,
                f"{label}: its states switch too many outputs",
                got=str(max(len(lines), len(lights))),
                expected=f"at most {MOST_OUTPUTS}",
            )
        masks: list[int] = []
        levels: list[tuple[int, ...]] = []
        for name, row in rows:
            mask, level = 0, [0] * len(lights)
            for one in row:
                place = found.get(one.value.output)
                if place is None:
                    continue
                if place.line is not None:
                    mask |= 1 << lines.index(place.line)
                    if one.value.percent is not None:
                        to.problem(
                            "wrong-output",
                            one.place,
                            f"{label}: {show(one.value.output)} is on or off, not in between",
                            got=show(one.text),
                            expected="a dimmer",
                        )
                elif place.light is not None:
                    percent = one.value.percent
                    share = 10_000 if percent is None else int(percent * 100)
                    level[lights.index(place.light)] = DUTIES[brightness_of(share)]
            if (mask, tuple(level)) in zip(masks, levels, strict=True):
                twin = list(zip(masks, levels, strict=True)).index((mask, tuple(level)))
                to.problem(
                    "same-state",
                    self.states.places[name],
                    f"{label}: state {show(name)} is on just as {show(rows[twin][0])} is",
                    expected="outputs that tell the states apart",
                )
            masks.append(mask)
            levels.append(tuple(level))
        if masks[0] or any(levels[0]):
            first = rows[0][0]
            to.problem(
                "not-off",
                self.states.places[first],
                f"{label}: its first state, {show(first)}, has something on",
                expected=f"{show('nothing')}: it is the state at power-up and without a signal",
            )
        return Step(
            name=self.name.value,
            code=to.code(self),
            on_loss=Loss(self.on_loss.value),
            source_line=self.place.line,
            ask=ask,
            back=back,
            names=tuple(name for name, _ in rows),
            masks=tuple(masks),
            duties=tuple(levels),
            own_lines=lines,
            own_lights=lights,
            wraps=self.at_the_end.value == "wrap",
            remember=self.remember.value,
        )


@dataclass(frozen=True, kw_only=True)
class Step(Function):
    """One of `names` at a time. In state i, line j of `own_lines` is on if bit j of `masks[i]` is
    set, and dimmer j of `own_lights` has `duties[i][j]`. A press of `ask` steps on, one of `back`
    back; at the ends it `wraps` or stays. `remember`: after power-up it is in the state in which it
    was left."""

    key: ClassVar[str] = "step"
    written: ClassVar[type[FunctionKeys]] = StepKeys

    ask: Ask
    back: Ask | None
    names: tuple[str, ...]
    masks: tuple[int, ...]
    duties: tuple[tuple[int, ...], ...]
    own_lines: tuple[int, ...]
    own_lights: tuple[int, ...]
    wraps: bool
    remember: bool = False

    @property
    def kept_bytes(self) -> int:
        return KEPT_BYTES if self.remember else 0

    @property
    def controls(self) -> tuple[int, ...]:
        return tuple(sorted({one.control for one in (self.ask, self.back) if one is not None}))

    @property
    def lines(self) -> tuple[int, ...]:
        return self.own_lines

    @property
    def lights(self) -> tuple[int, ...]:
        return self.own_lights

    @property
    def states(self) -> tuple[str, ...]:
        return self.names

    @property
    def patterns(self) -> tuple[int, ...]:
        return self.masks

    @property
    def level_patterns(self) -> tuple[tuple[int, ...], ...]:
        return self.duties

    def tables(self, plan: Plan) -> tuple[Table, ...]:
        lines = tuple(plan.lines[line].code for line in self.own_lines)
        lights = tuple(plan.lights[one].code for one in self.own_lights)
        made = []
        if lines:
            made.append(Table("lines_of", "Line", lines))
            made.append(
                Table("states_of", "uint8_t", tuple(f"0x{mask:02x}" for mask in self.masks))
            )
        if lights:
            made.append(Table("lights_of", "Light", lights))
            every = tuple(str(duty) for row in self.duties for duty in row)
            made.append(Table("levels_of", "uint8_t", every))
        return tuple(made)

    def cells(self, plan: Plan) -> Cells:
        lines = lights = "{nullptr, 0, nullptr}"
        if self.own_lines:
            lines = f"{{lines_of::{self.code}, {len(self.own_lines)}, states_of::{self.code}}}"
        if self.own_lights:
            count = len(self.own_lights)
            lights = f"{{lights_of::{self.code}, {count}, levels_of::{self.code}}}"
        end = "AtTheEnd::wrap" if self.wraps else "AtTheEnd::stop"
        back = plan.ask_code(self.back) if self.back is not None else "Ask()"
        outputs = [plan.lines[line].code for line in self.own_lines]
        outputs += [plan.lights[one].code for one in self.own_lights]
        return Cells(
            asked_by=(plan.ask_code(self.ask), back),
            limits=(f"States{{{len(self.names)}, {end}}}",),
            drives=(f"LinesBy{lines}", f"LightsBy{lights}"),
            on_loss=(f"Loss::{self.on_loss}",),
            remark=f"{self.limits_in_words(plan)}; drives {', '.join(outputs)}",
        )

    @property
    def answers(self) -> tuple[Answer, ...]:
        made = [Answer(self.ask.control, self.ask.position, f"next of: {', '.join(self.names)}")]
        if self.back is not None:
            does = f"back through: {', '.join(reversed(self.names))}"
            made.append(Answer(self.back.control, self.back.position, does))
        return tuple(made)

    def limits_in_words(self, plan: Plan) -> str:
        del plan
        return ", ".join(self.names)
