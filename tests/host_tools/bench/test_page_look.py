"""How the page looks: a crowd of functions, a phone, large letters, the keyboard alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.host_tools.bench.feed import Feed, control, function, paper_ship, relay

if TYPE_CHECKING:
    from playwright.sync_api import Page


WIDTHS_PX = (360, 1280, 1920)


def _crowd() -> dict[str, object]:
    """A thousand functions with names that do not break."""
    long = "Unterwasserschallwellenempfängerhalterungsbeleuchtungsanlage"
    functions = [
        function(
            f"{long} {index}" if index % 3 else f"light {index}", index, gate=f"only while {long}"
        )
        for index in range(1000)
    ]
    return paper_ship(
        functions=functions,
        outputs=[relay(index, f"relay {long} {index}", index) for index in range(1000)],
        controls=[control(long if index else "deck key", 0) for index in range(12)],
        trials=[
            {"name": long, "steps": [f"expect {long} on"] * 30, "cuts_power": False, "line": 1}
        ],
    )


OVERFLOWING = """() => [...document.querySelectorAll('body *')]
  .filter((one) => one.checkVisibility({contentVisibilityAuto: true}))
  .filter((one) => {
    const style = getComputedStyle(one);
    return style.overflowX === 'visible' && style.display !== 'inline' && one.clientWidth
      && one.scrollWidth > one.clientWidth + 1;
  }).map((one) => `${one.tagName}.${one.className} ${one.scrollWidth} > ${one.clientWidth}`)"""


def test_a_thousand_functions_break_nothing(page: Page) -> None:
    feed = Feed(page, _crowd())
    feed.open()
    expect(page.locator(".function")).to_have_count(1000)
    feed.tell({"f": [[index, 1] for index in range(1000)]})
    expect(page.locator(".function").last).to_have_attribute("data-on", "true")
    for width in WIDTHS_PX:
        page.set_viewport_size({"width": width, "height": 900})
        page.wait_for_function(f"innerWidth === {width}")
        assert page.evaluate("document.documentElement.scrollWidth") == width
        assert page.evaluate(OVERFLOWING) == []
        expect(page.locator("#fact-plan")).to_be_in_viewport()
        expect(page.locator("#record")).to_be_in_viewport()


TARGETS = """(least) => [...document.querySelectorAll('button, select, input, summary, a')]
  .filter((one) => one.checkVisibility() && !one.closest('.skip, label.tick'))
  .map((one) => [one.textContent || one.id, one.getBoundingClientRect()])
  .filter(([, box]) => box.width < least || box.height < least)
  .map(([name, box]) => `${name} ${box.width} x ${box.height}`)"""


@pytest.mark.parametrize(("width", "least_px"), [(360, 44), (1280, 24), (1920, 24)])
def test_what_is_pressed_is_large_enough(page: Page, width: int, least_px: int) -> None:
    """WCAG 2.2, 2.5.8: 24 CSS pixels; for fingers 44 (2.5.5)."""
    page.set_viewport_size({"width": width, "height": 900})
    feed = Feed(page)
    feed.open()
    page.get_by_role("button", name="Force …", exact=True).click()
    page.get_by_role("button", name="Force davit …").click()
    assert page.evaluate(TARGETS, least_px) == []


def test_everything_can_be_reached_and_seen_with_the_keyboard(page: Page) -> None:
    Feed(page).open()
    reached = set()
    for _ in range(70):
        page.keyboard.press("Tab")
        name, outline = page.evaluate(
            "(() => { const one = document.activeElement; const style = getComputedStyle(one);"
            " return [one.getAttribute('aria-labelledby') || one.id || one.textContent,"
            " one === document.body ? '3px' : style.outlineWidth]; })()"
        )
        assert outline == "3px", name
        reached.add(name)
        if name == "log-title":
            break
    assert {
        "record",
        "up",
        "stay",
        "control-1",
        "force-mode",
        "lose",
        "trial-name",
        "timeline-title",
    } <= reached


def test_everything_that_is_worked_has_a_name(page: Page) -> None:
    Feed(page).open()
    nameless = page.evaluate(
        "[...document.querySelectorAll('button, select, input')].filter((one) =>"
        " !one.textContent.trim() && !one.labels?.length && !one.getAttribute('aria-labelledby')"
        " && !one.getAttribute('aria-label') && one.checkVisibility()).map((one) => one.outerHTML)"
    )
    assert nameless == []


def test_day_and_night_and_large_letters_are_remembered(page: Page) -> None:
    feed = Feed(page)
    feed.open()
    page.locator(".look summary").click()
    page.locator("#light").select_option("night")
    page.locator("#letters").select_option("huge")
    feed.open()
    root = page.locator("html")
    expect(root).to_have_attribute("data-light", "night")
    expect(root).to_have_attribute("data-letters", "huge")
    assert page.evaluate("getComputedStyle(document.body).fontSize") == "26px"
    assert page.evaluate(OVERFLOWING) == []


def test_nothing_moves_by_itself_where_that_is_not_wanted(page: Page) -> None:
    page.emulate_media(reduced_motion="reduce")
    Feed(page).open()
    assert page.evaluate("document.getAnimations().length") == 0
    assert (
        page.evaluate(
            "[...document.querySelectorAll('*')].filter((one) => {"
            " const style = getComputedStyle(one);"
            " return style.transitionDuration !== '0s' || style.animationName !== 'none'; }).length"
        )
        == 0
    )
