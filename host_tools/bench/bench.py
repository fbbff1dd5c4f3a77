"""The bench itself: a ship, the pages that look on, and a turn every few milliseconds.

Everything happens in `turn` and in `take`, which are called from one thread and ask the clock that
was handed in.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.toolchain import MissingTool
from host_tools.bench.asked import Asked, Not, bad
from host_tools.bench.currents import Currents
from host_tools.bench.describe import described
from host_tools.bench.following import NEWER, Following
from host_tools.bench.forcing import Forcing
from host_tools.bench.news import News
from host_tools.bench.page import encoded
from host_tools.bench.saving import Saving
from host_tools.bench.seen import Seen
from host_tools.bench.source import BOARD
from host_tools.bench.state import state_of
from host_tools.bench.trying import Trying
from host_tools.bench.working import Working, may_stall
from host_tools.link.errors import LinkError
from host_tools.link.session import Refused
from host_tools.record import RungUnavailable

if TYPE_CHECKING:
    from collections.abc import Callable

    from host_tools.bench.asked import Json
    from host_tools.bench.news import Row, Said
    from host_tools.bench.page import Page
    from host_tools.bench.source import Source, Tick
    from host_tools.model.behaviours.gauge import Gauge
    from host_tools.model.stepwise import Looks
    from host_tools.opened import OpenedShip

SEND_S = 0.02
"""How often the stream is sent: 50 times a second."""

IDLE_S = 0.5
"""How often when nothing goes on."""

STATE_S = 0.1
A_LITTLE_S = 0.001
"""A turn that comes so much too early is in time."""

MOST_ROWS = 200
"""Of one message: a second. What a slow moment has piled up beyond that is told as it stands."""

MOST_PAGES = 8


class Bench:
    """`open_source` makes a source of a ship, which goes on from a tick of the bench; `clock` gives
    seconds, `wall_ms` milliseconds since 1970."""

    def __init__(
        self,
        opened: OpenedShip,
        open_source: Callable[[OpenedShip, int], Source],
        clock: Callable[[], float],
        wall_ms: Callable[[], float],
    ) -> None:
        self.pages: list[Page] = []
        self.breathe: Callable[[], None] = lambda: None
        self.opened = opened
        self._open_source = open_source
        self._clock = clock
        self._wall_ms = wall_ms
        self._following = Following(opened.path, clock)
        self._waits = False
        self._rows: list[Row] = []
        self._log: list[Said] = []
        self._sent_at = self._told_at = clock()
        self._begin(opened, open_source(opened, 0))

    def start(self) -> None:
        """Lets the ship begin; what is wrong with the way to it is shown, not raised."""
        self.trouble = ""
        for page in self.pages:
            page.tell_state(self._state(page))
        try:
            self.source.start()
        except LinkError as error:
            self.trouble = f"{error.what}\n  hint: {error.hint}"

    def close(self) -> None:
        """Lets go of everything."""
        self.source.close()

    def _breathe(self) -> None:
        """Pages may come and go while a board is waited for; nothing is done meanwhile."""
        self._waits = True
        try:
            self.breathe()
        finally:
            self._waits = False

    def _begin(self, opened: OpenedShip, source: Source) -> None:
        self.opened = opened
        self.source = source
        source.breathe = self._breathe
        self.trouble = ""
        self.looks: Looks | None = None
        self._news = News(opened.plan)
        self._describe(opened)
        self.forcing = Forcing(source, self._clock, self.say)
        self.working = Working(source, self.say, self._may_stall)
        self.seen = Seen(opened.plan)
        self.trying = Trying(opened, source, self.say, self._let_go)
        self.saving = Saving(opened, self.seen, self.say)
        self._commands = {
            **self.working.commands(),
            **self.forcing.commands(),
            **self.trying.commands(),
            **self.saving.commands(),
            "brown_out": self._brown_out,
            "restart": self._restart,
            "inputs": self._inputs,
            "stop": self._stop,
            "reload": self._reload,
        }
        self._rows = []
        self._gauges: list[tuple[Gauge, ...]] = [()] * len(opened.plan.functions)

    def _describe(self, opened: OpenedShip) -> None:
        self.opened = opened
        self._currents = Currents(opened.ship, opened.plan, opened.board)
        self._may_stall = may_stall(opened.plan, self._currents)
        self._ship = encoded(described(opened, self._currents, self._may_stall))
        self._ma: list[int] = [-1] * len(self._currents.supplies)

    # The pages

    def join(self, page: Page) -> bool:
        """One page more; False if there are too many."""
        if len(self.pages) >= MOST_PAGES:
            return False
        self.pages.append(page)
        page.tell_ship(self._ship)
        page.tell_state(self._state(page))
        return True

    def leave(self, page: Page) -> None:
        """A page is gone: what it held is let go."""
        if page in self.pages:
            self.pages.remove(page)
            self.forcing.left(page)
            self.working.left(page)

    def take(self, page: Page, text: str) -> bool:
        """What a page asks for, done and answered. False where it was no message of ours."""
        number = 0
        try:
            asked = Asked(text)
            number = asked.id
            if self._waits:
                raise Not("not-now", "the board has not said yet who it is")
            command = self._commands.get(asked.do)
            if command is None:
                raise bad("there is no such command")
            answer: Json = {"ok": True, **command(page, asked)}
        except Not as no:
            answer = {"ok": False, "code": no.code, "why": no.why, "hint": no.hint}
        except Refused as refused:
            answer = {"ok": False, "code": "not-now", "why": str(refused), "hint": ""}
        except LinkError as error:
            answer = {"ok": False, "code": error.code, "why": error.what, "hint": error.hint}
        page.tell({"t": "answer", "id": number, **answer})
        page.tell_state(self._state(page))
        return bool(answer["ok"]) or answer["code"] != "bad"

    def say(self, kind: str, text: str) -> None:
        """A line for the log."""
        self._log.append((self.source.until, kind, text))

    # The turn

    def turn(self) -> None:
        """What has happened since the last one, told to every page."""
        self._follow()
        for tick in self.source.turn():
            self._see(tick)
        self.forcing.turn()
        now = self._clock()
        every = SEND_S if self._rows or self._log else IDLE_S
        if now >= self._sent_at + every - A_LITTLE_S:
            # In step with the clock, unless a step was missed.
            self._sent_at = max(self._sent_at + every, now - SEND_S)
            self._send()
        if now - self._told_at >= STATE_S:
            self._told_at = now
            for page in self.pages:
                page.tell_state(self._state(page))

    def _see(self, tick: Tick) -> None:
        row, said = self._news.row(tick)
        self.looks = tick.looks
        if tick.up and self.seen.is_recording:
            said.append((tick.k, "bench", "the recording has ended: the ship started anew"))
        entry = self.seen.see(tick, self.source.found)
        self.trying.see(entry, up=bool(tick.up), k=tick.k)
        self._log += said
        self.forcing.see(tick.looks)
        if len(row) > 1:
            self._rows.append(row)

    def _send(self) -> None:
        if self.looks is None:
            return
        rows, log = self._rows[-MOST_ROWS:], self._log[-MOST_ROWS:]
        self._rows, self._log = [], []
        news = encoded(
            {"whole": False, **self._times(), "rows": rows, "now": self._now(), "log": log}
        )
        for page in self.pages:
            page.tell_rows(news, self._everything)

    def _times(self) -> Json:
        now_ms = round(self._wall_ms(), 3)
        return {"until": self.source.until, "at_ms": now_ms, "sent_ms": now_ms}

    def _now(self) -> Json:
        """What counts just now, where it is another than it was told last."""
        assert self.looks is not None  # noqa: S101 - the callers have looked
        changed = []
        for index, before in enumerate(self._gauges):
            gauges = self.source.gauges(index)
            if gauges != before:
                self._gauges[index] = gauges
                changed.append((index, gauges))
        ma = self._currents.now_ma(self.looks, self.working.stalled)
        told = [(index, now) for index, now in enumerate(ma) if now != self._ma[index]]
        self._ma = ma
        return {"f": changed, "a": told}

    def _everything(self) -> str:
        assert self.looks is not None  # noqa: S101 - the callers have looked
        until = self.source.until
        now = {
            "f": [(index, gauges) for index, gauges in enumerate(self._gauges)],
            "a": list(enumerate(self._ma)),
        }
        row = self._news.whole(max(until - 1, 0))
        return encoded({"whole": True, **self._times(), "rows": [row], "now": now, "log": []})

    def _state(self, page: Page) -> Json:
        return state_of(self, page, self._following)

    # What is asked for besides

    def _restart(self, _: object, asked: Asked) -> Json:
        forget = asked.flag("forget", usual=False)
        asked.finish()
        if not self.source.allowed.restart:
            raise Not("not-now", self.source.allowed.why)
        self.forcing.end("the ship starts anew")
        self.trying.stop()
        self.source.restart("power" if self.source.kind != BOARD else "asked", forget=forget)
        return {}

    def _brown_out(self, _: object, asked: Asked) -> Json:
        asked.finish()
        if not self.source.allowed.fault:
            raise Not("not-now", "a real supply is not browned out from here")
        self.forcing.end("the power dips")
        self.trying.stop()
        self.say("fault", "the power dips: a brown-out")
        self.source.restart("brown-out")
        return {}

    def _inputs(self, _: object, asked: Asked) -> Json:
        ours = asked.flag("on")
        asked.finish()
        if not self.source.allowed.force:
            raise Not("not-now", self.source.allowed.why)
        self.source.inputs(ours=ours)
        words = "works the ship in place of its receiver" if ours else "has let go of the ship"
        self.say("bench", f"the bench {words}")
        return {}

    def _stop(self, _: object, asked: Asked) -> Json:
        asked.finish()
        self.trying.stop()
        self._let_go()
        return {}

    def _let_go(self) -> None:
        self.forcing.end("stopped")
        self.working.rest()

    def _reload(self, _: object, asked: Asked) -> Json:
        asked.finish()
        self._read_anew()
        return {}

    # The ship file

    def _follow(self) -> None:
        if self._following.turn():
            self._read_anew()

    def _read_anew(self) -> None:
        opened = self._following.read()
        if opened is None:
            self.say("file", f"{self.opened.path.name} has errors: what ran before goes on")
            return
        if opened.plan.plan_id == self.opened.plan.plan_id:
            self._describe(opened)
            self.saving.opened = self.trying.opened = opened
            self.say(
                "file", f"{opened.path.name} was saved: nothing that the ship does has changed"
            )
        elif self.source.kind == BOARD:
            self._following.state = NEWER
            self.say("file", f"{opened.path.name} was saved: the board runs an older plan")
            return
        else:
            self._run_anew(opened)
        for page in self.pages:
            page.tell_ship(self._ship)
            page.tell_state(self._state(page))

    def _run_anew(self, opened: OpenedShip) -> None:
        self.forcing.end("the ship file was saved")
        try:
            source = self._open_source(opened, self.source.until)
        except (MissingTool, RungUnavailable) as error:
            self._following.fail(str(error))
            return
        self.source.close()
        self._begin(opened, source)
        self.start()
        self.say("file", f"{opened.path.name} was saved: plan {opened.plan.plan_id} runs now")
