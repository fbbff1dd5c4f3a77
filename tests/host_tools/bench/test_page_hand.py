"""The page in a hand: what is held, and every way in which it lets go."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.host_tools.bench.feed import Feed, paper_state

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Locator, Page


@pytest.fixture
def feed(page: Page) -> Feed:
    feed = Feed(page)
    feed.open()
    return feed


def _key(page: Page, word: str) -> Locator:
    group = page.get_by_role("group", name="deck key")
    return group.get_by_role("button", name=word, exact=True)


# --- Controls


def test_a_sprung_key_is_held_and_springs_back(feed: Feed, page: Page) -> None:
    _key(page, "up").hover()
    page.mouse.down()
    assert feed.wait_for("move")[0] | {"id": 0} == {
        "do": "move",
        "control": 0,
        "position": 2,
        "id": 0,
    }
    page.mouse.move(5, 5)
    page.mouse.up()
    assert feed.wait_for("move", 2)[1]["position"] == 1


def test_a_sprung_key_is_held_by_a_key_too(feed: Feed, page: Page) -> None:
    _key(page, "down").focus()
    page.keyboard.down("Space")
    page.keyboard.down("Space")  # repeats, as a key that is held does
    feed.wait_for("move")
    page.keyboard.up("Space")
    assert [one["position"] for one in feed.wait_for("move", 2)] == [0, 1]


def test_a_sprung_key_that_is_told_to_stays(feed: Feed, page: Page) -> None:
    stay = page.get_by_role("group", name="deck key").get_by_role("button", name="stay")
    stay.click()
    _key(page, "up").click()
    feed.wait_for("move")
    stay.click()
    assert [one["position"] for one in feed.wait_for("move", 2)] == [2, 1]


def test_a_sprung_stick_springs_back(feed: Feed, page: Page) -> None:
    slider = page.get_by_role("slider", name="lever")
    box = slider.bounding_box()
    assert box is not None
    middle = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + box["width"] / 2, middle)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] - 4, middle, steps=4)
    assert feed.wait_for("move")[-1]["control"] == 1
    page.mouse.up()
    feed.wait_for("move", 2)
    page.wait_for_function("document.querySelector('input[type=range]').value === '3000'")
    assert feed.wait_for("move", 2)[-1]["half_us"] == 3000


def test_what_a_control_is_seen_to_do_is_shown(feed: Feed, page: Page) -> None:
    feed.tell({"c": [[0, 2, 3900, 1]], "f": [[0, 1]], "x": [[0, 1]]})
    expect(_key(page, "up")).to_have_attribute("aria-pressed", "true")
    expect(page.locator(".function").first).to_contain_text("on")
    expect(page.get_by_role("group", name="deck key")).to_contain_text("deck lights on")
    expect(page.locator("#outputs .output").first).to_contain_text("on")


# --- Force


def _armed(feed: Feed, page: Page) -> Locator:
    page.get_by_role("button", name="Force …", exact=True).click()
    page.get_by_role("button", name="Force davit …").click()
    panel = page.get_by_role("region", name="Force", exact=True)
    expect(panel).to_contain_text("A davit pinches.")
    arm = panel.get_by_role("button", name="Arm")
    expect(arm).to_be_disabled()
    panel.get_by_role("checkbox").check()
    arm.click()
    assert feed.wait_for("arm")[-1]["sure"] is True
    return panel.get_by_role("button", name="Hold for lowering")


ENDS: dict[str, Callable[[Feed], object]] = {
    "let go": lambda feed: feed.page.mouse.up(),
    "pointer cancelled": lambda feed: feed.page.evaluate(
        "document.querySelector('.hold').dispatchEvent("
        "new PointerEvent('pointercancel', {pointerId: 1}))"
    ),
    "focus moves on": lambda feed: feed.page.evaluate("document.activeElement.blur()"),
    "window left": lambda feed: feed.page.evaluate("dispatchEvent(new Event('blur'))"),
    "page left": lambda feed: feed.page.evaluate(
        "dispatchEvent(new PageTransitionEvent('pagehide'))"
    ),
    "escape": lambda feed: feed.page.keyboard.press("Escape"),
    "board gone": lambda feed: feed.tell_state(link="gone", link_why="the cable is out"),
}


@pytest.mark.parametrize("end", ENDS)
def test_a_force_runs_while_it_is_held_and_ends_when(feed: Feed, page: Page, end: str) -> None:
    hold = _armed(feed, page)
    hold.hover()
    page.mouse.down()
    assert feed.wait_for("force")[0] | {"id": 0} == {
        "do": "force",
        "function": 1,
        "state": 1,
        "id": 0,
    }
    feed.wait_for("keep", 2)
    frees = len(feed.asked_for("free"))
    ENDS[end](feed)
    feed.wait_for("free", frees + 1)
    kept = len(feed.asked_for("keep"))
    # Nothing keeps it going: so much later three more would have come.
    page.wait_for_timeout(350)
    assert len(feed.asked_for("keep")) == kept


def test_a_force_is_held_by_a_key_and_ends_with_it(feed: Feed, page: Page) -> None:
    hold = _armed(feed, page)
    hold.focus()
    page.keyboard.down("Enter")
    feed.wait_for("keep")
    frees = len(feed.asked_for("free"))
    page.keyboard.up("Enter")
    feed.wait_for("free", frees + 1)


def test_a_force_ends_with_the_link(feed: Feed, page: Page) -> None:
    hold = _armed(feed, page)
    hold.hover()
    page.mouse.down()
    feed.wait_for("keep")
    feed.close()
    expect(page.get_by_role("alert")).to_contain_text("The bench has ended")
    expect(hold).to_have_count(0)
    page.mouse.up()
    # The link comes back by itself, the force does not.
    expect(page.get_by_role("alert")).to_be_hidden()
    assert page.locator("#force-now").inner_text() == "not armed"


def test_a_refused_force_says_why_and_is_disarmed(feed: Feed, page: Page) -> None:
    feed.answers["force"] = {"ok": False, "code": "rule", "why": "never davit with anchor"}
    hold = _armed(feed, page)
    hold.hover()
    page.mouse.down()
    expect(page.locator("#force-said")).to_have_text("Refused: never davit with anchor")
    page.mouse.up()
    expect(hold).to_have_count(0)
    expect(page.get_by_role("button", name="Arm")).to_be_disabled()


def test_no_force_where_none_is_allowed(page: Page) -> None:
    state = paper_state()
    state["can"] = dict.fromkeys(state["can"], False)
    state["bench"] = {"allowed": False, "why": "no 'bench:' in the ship file", "inputs": False}
    Feed(page, state=state | {"source": "board", "where": "/dev/ttyUSB0"}).open()
    expect(page.locator("#inputs-notice")).to_contain_text("no 'bench:' in the ship file")
    expect(page.get_by_role("button", name="Force …", exact=True)).to_be_hidden()
    expect(_key(page, "up")).to_be_disabled()
    expect(page.get_by_role("button", name="Lose signal")).to_be_hidden()
