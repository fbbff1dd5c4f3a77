"""The bench's page while everything moves: how soon a pulse is seen, how smoothly, at what cost.

Sixteen channels and twenty-four functions under random thumbs, in a real browser, which paints
without a graphics card here: with one it costs less.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

from playwright.sync_api import sync_playwright

from host_tools.cli.ships import starters
from tests.benchmarks.table import Row, at_least, at_most
from tests.host_tools.bench.conftest import ARGUMENTS, CHROMIUM
from tests.host_tools.bench.served import served

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, CDPSession, Page

SHIP = "salvor"
OF = "16 channels, 24 functions, 1920 x 1080"

SETTLING_S = 70
"""The last minute has filled, and the browser has compiled what runs often."""
RUN_S, LONG_RUN_S = 30, 3600

MEDIAN_MS, P99_MS = 50, 100
LEAST_FRAMES = 50
MOST_CPU_PERCENT = 30
MOST_GROWTH_KB = 1000
"""Of the script's heap, in an hour or less; its garbage is collected before either end is read."""
FIRST_VIEW_MS = 1000


def rows(*, long_run: bool, settling_s: float = SETTLING_S) -> Iterator[Row]:
    """Measured from the page's own clock, the browser's own count of processor time."""
    with (
        sync_playwright() as playwright,
        served(starters()[SHIP], "--thumbs", "3") as address,
    ):
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        page = browser.new_page(viewport={"width": 1920, "height": 1080})
        page.goto(address)
        page.locator(".function").last.wait_for()
        first_view_ms = page.evaluate(
            "performance.getEntriesByName('first-contentful-paint')[0].startTime"
        )
        yield at_most("first view of the bench page", OF, first_view_ms, FIRST_VIEW_MS, "ms")
        yield from _running(browser, page, settling_s, LONG_RUN_S if long_run else RUN_S)
        browser.close()


def _running(browser: Browser, page: Page, settling_s: float, run_s: float) -> Iterator[Row]:
    debugger = page.context.new_cdp_session(page)
    system = browser.new_browser_cdp_session()
    page.wait_for_timeout(settling_s * 1000)
    heap_before = _heap_bytes(debugger)
    cpu_before, begun = _cpu_s(system), time.monotonic()
    page.evaluate("benchFiguresAnew()")
    page.wait_for_timeout(run_s * 1000)
    told: dict[str, float] = page.evaluate("benchFigures()")
    cpu_after, lasted = _cpu_s(system), time.monotonic() - begun
    heap_kb = (_heap_bytes(debugger) - heap_before) / 1000
    share = {kind: 100 * (cpu_after[kind] - cpu_before[kind]) / lasted for kind in cpu_after}
    over = f"{OF}, {run_s:.0f} s"
    yield at_most("pulse to paint, median", over, told["latency_median_ms"], MEDIAN_MS, "ms")
    yield at_most("pulse to paint, 99 %", over, told["latency_p99_ms"], P99_MS, "ms")
    yield at_least("frames", over, told["frames_a_second"], LEAST_FRAMES, "a second")
    yield at_most("processor, the page", over, share["renderer"], MOST_CPU_PERCENT, "% of a core")
    yield Row("processor, the page's script alone", over, f"{100 * told['work_share']:.3g} %")
    yield Row("processor, the rest of the browser", over, f"{share['other']:.3g} %")
    yield at_most("growth of the page's memory", over, heap_kb, MOST_GROWTH_KB, "kB")


def _heap_bytes(debugger: CDPSession) -> float:
    debugger.send("HeapProfiler.collectGarbage")
    return float(debugger.send("Runtime.getHeapUsage")["usedSize"])


def _cpu_s(system: CDPSession) -> dict[str, float]:
    """What the browser's processes have taken so far: those of pages, and all others."""
    found: list[dict[str, Any]] = system.send("SystemInfo.getProcessInfo")["processInfo"]
    spent = {"renderer": 0.0, "other": 0.0}
    for process in found:
        spent["renderer" if process["type"] == "renderer" else "other"] += process["cpuTime"]
    return spent
