"""Plan -> sketch: a folder that the board makers' own desktop tool opens as it is.

Templates only fill in tables and names; the logic and the board layer are written by hand under
`templates/sketch/` and copied. Same plan, same bytes: no date, no user, no path.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Dimmer
from gen.render.ship_view import logic_headers, ship_view
from gen.render.wiring import wiring_view
from gen.resources import resource
from gen.templating import templates_in

if TYPE_CHECKING:
    from gen.boards import Board
    from gen.plan import Plan

_GENERATED = {
    "src/sizes.h": "sizes.h.j2",
    "src/ship.h": "ship.h.j2",
    "src/tick.h": "tick.h.j2",
    "src/board/wiring.h": "board/wiring.h.j2",
    "src/link/words.h": "link/words.h.j2",
}


def render(plan: Plan, board: Board) -> dict[str, str]:
    """The sketch's files, by their place in its folder (which is to be named `plan.code`)."""
    templates = resource("templates") / "sketch"
    # C++, not HTML; names were made safe when they were read.
    environment = templates_in(templates, autoescape=False)
    environment.filters["pad"] = str.ljust
    views = {"ship": ship_view(plan), "wiring": wiring_view(plan, board)}
    files = {f"{plan.code}.ino": environment.get_template("main.ino.j2").render(views)}
    generated = dict(_GENERATED)
    if any(isinstance(function, Dimmer) for function in plan.functions):
        generated["src/logic/lightness.h"] = "lightness.h.j2"
    for name, template in generated.items():
        files[name] = environment.get_template(template).render(views)
    headers = {f"{name}.h" for function in plan.functions for name in function.headers}
    unneeded = {"force.h", "shared_channel.h", "sum_signal.h"} - set(logic_headers(plan))
    for part in ("logic", "behaviours", "board", "link"):
        for source in sorted((templates / part).iterdir()):
            wanted = source.name not in unneeded
            wanted &= part != "behaviours" or source.name in headers
            if source.stem in ("bench", "bench_orders", "jumper", "number"):
                wanted = plan.bench is not None
            if source.stem == "keeper":
                wanted = plan.kept_bytes > 0
            if wanted and source.suffix in (".h", ".cpp"):
                files[f"src/{part}/{source.name}"] = source.read_text(encoding="utf-8")
    return files
