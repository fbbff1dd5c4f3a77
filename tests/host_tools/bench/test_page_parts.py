"""The page by itself, told what a bench seldom has to tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.host_tools.bench.feed import (
    ORIGIN,
    Feed,
    control,
    function,
    paper_ship,
    paper_state,
    relay,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Locator, Page

WIDTHS_PX = (360, 1280, 1920)


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


def _left_page(page: Page) -> None:
    page.evaluate("dispatchEvent(new PageTransitionEvent('pagehide'))")


ENDS: dict[str, Callable[[Page], object]] = {
    "let go": lambda page: page.mouse.up(),
    "pointer cancelled": lambda page: page.evaluate(
        "document.querySelector('.hold').dispatchEvent("
        "new PointerEvent('pointercancel', {pointerId: 1}))"
    ),
    "focus moves on": lambda page: page.evaluate("document.activeElement.blur()"),
    "window left": lambda page: page.evaluate("dispatchEvent(new Event('blur'))"),
    "page left": _left_page,
    "escape": lambda page: page.keyboard.press("Escape"),
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
    ENDS[end](page)
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


# --- What is always visible


def test_a_difference_is_told(feed: Feed, page: Page) -> None:
    agreement = {
        "compared_ticks": 99,
        "differences": 1,
        "first": "outputs at tick 98",
        "waits": "",
        "starts": 1,
    }
    feed.tell_state(agreement=agreement)
    # Told apart by a shape and a word, not by a colour alone.
    expect(page.locator("#fact-agree")).to_have_attribute("data-is", "bad")
    expect(page.locator("#fact-agree")).to_contain_text("1 difference after 99 ticks")
    expect(page.locator("#difference-notice")).to_contain_text("outputs at tick 98")


def test_a_broken_file_is_told_as_the_command_line_tells_it(feed: Feed, page: Page) -> None:
    problem = (
        "paper.yaml:59:13: error[unknown-name]: no such control\n  hint: did you mean 'deck key'?"
    )
    feed.tell_state(file={"state": "broken", "problems": [problem]})
    expect(page.locator("#file-notice pre")).to_have_text(problem)
    feed.tell_state(file={"state": "same", "problems": []})
    expect(page.locator("#file-notice")).to_be_hidden()


def test_a_board_with_an_older_plan_is_told(feed: Feed, page: Page) -> None:
    feed.tell_state(plan_is_files=False, file={"state": "newer", "problems": []})
    expect(page.locator("#fact-plan")).to_contain_text("not the file's")
    expect(page.locator("#file-notice")).to_contain_text("the board runs an older plan")


def test_the_address_without_its_key_says_what_to_open(page: Page) -> None:
    Feed(page)
    page.goto(f"{ORIGIN}/")
    expect(page.get_by_role("alert")).to_contain_text(
        "Open the address that pinrail bench has printed"
    )


# --- Trials, and what is kept


def _trial(step: int, *, over: bool = False, passed: bool | None = None) -> dict[str, object]:
    return {
        "name": "lights latch",
        "step": step,
        "steps": 2,
        "tick": 50 * step,
        "ticks": 120,
        "over": over,
        "passed": passed,
        "failures": ["expected deck lights on at 0.4 s", "they were off"]
        if passed is False
        else [],
    }


def test_a_trial_is_run_and_watched(feed: Feed, page: Page) -> None:
    page.get_by_role("button", name="Run it").click()
    assert feed.wait_for("trial")[0]["name"] == "lights latch"
    feed.tell_state(trial=_trial(1))
    steps = page.locator("#trial-steps li")
    expect(steps.nth(0)).to_have_attribute("data-done", "")
    expect(steps.nth(1)).to_have_attribute("aria-current", "step")
    expect(page.locator("#trial-now")).to_have_text("Step 2 of 2, 0.250 s of 0.600 s")
    page.get_by_role("button", name="Stop it").click()
    feed.wait_for("stop")
    feed.tell_state(trial=_trial(2, over=True, passed=False))
    verdict = page.locator("#trial-verdict")
    expect(verdict).to_contain_text("Fell short")
    expect(verdict).to_contain_text("expected deck lights on at 0.4 s")
    feed.tell_state(trial=_trial(2, over=True, passed=True))
    expect(verdict).to_contain_text("Passed")


def test_a_trial_on_a_board_asks_first(feed: Feed, page: Page) -> None:
    feed.answers["trial"] = {"ok": False, "code": "sure", "why": "The ship moves."}
    page.get_by_role("button", name="Run it").click()
    expect(page.locator("#keep-sure")).to_contain_text("The ship moves.")
    feed.answers["trial"] = {"ok": True}
    page.get_by_role("button", name="Yes, do it").click()
    assert feed.wait_for("trial", 2)[1]["sure"] is True


def test_it_is_recorded_and_saved(feed: Feed, page: Page) -> None:
    record = page.locator("#record")
    record.click()
    assert feed.wait_for("record")[0]["on"] is True
    recording = {"on": True, "ticks": 400, "from_power_up": True, "full": False}
    feed.tell_state(recording=recording)
    expect(record).to_have_attribute("aria-pressed", "true")
    expect(record).to_contain_text("2 s")
    record.click()
    assert feed.wait_for("record", 2)[1]["on"] is False
    feed.tell_state(recording=recording | {"on": False})
    # What is there already is replaced only when that is wanted.
    feed.answers["save_trace"] = {"ok": False, "code": "exists", "why": "evening.trace is there"}
    page.get_by_label("Name").fill("evening.trace")
    page.get_by_role("button", name="Save as trace").click()
    expect(page.locator("#keep-sure")).to_contain_text("evening.trace is there")
    feed.answers["save_trace"] = {"ok": True, "path": "evening.trace"}
    page.get_by_role("button", name="Yes, do it").click()
    asked = feed.wait_for("save_trace", 2)[1]
    assert (asked["what"], asked["name"], asked["replace"]) == ("recording", "evening.trace", True)
    expect(page.locator("#keep-said")).to_have_text("Saved: evening.trace")


def test_a_new_trial_is_shown_before_it_is_written(feed: Feed, page: Page) -> None:
    feed.tell_state(seen_ticks=12000)
    save = page.get_by_role("button", name="Save as trial")
    save.click()
    expect(page.locator("#keep-said")).to_contain_text("needs a name")
    page.get_by_label("Name").fill("as on Sunday")
    feed.answers["trial_text"] = {"text": "as on Sunday:\n  - press deck key up", "left_out": []}
    feed.answers["save_trial"] = {"ok": False, "code": "sure", "why": "It changes paper.yaml."}
    save.click()
    expect(page.locator("#keep-sure pre")).to_contain_text("- press deck key up")
    page.get_by_role("button", name="No", exact=True).click()
    expect(page.locator("#keep-said")).to_have_text("Nothing was written.")
    assert len(feed.asked_for("save_trial")) == 1


# --- The timeline


def test_the_timeline_is_stopped_and_measured(feed: Feed, page: Page) -> None:
    feed.tell(*[{}] * 1000, {"f": [[0, 1]]}, *[{}] * 399, {"f": [[0, 0]]}, *[{}] * 600)
    page.wait_for_function("document.querySelector('.function').dataset.on === 'false'")
    page.get_by_role("button", name="Stop", exact=True).click()
    lanes = page.locator("#lanes-canvas")
    box = lanes.bounding_box()
    assert box is not None
    # Names stand at the left of the lanes, what is so at their right.
    left, right = min(210, round(box["width"] * 0.3)), min(130, round(box["width"] * 0.2))
    wide = box["width"] - left - right

    def click_at(tick: int) -> None:
        share = (tick - feed.until + 12000) / 12000
        lanes.click(position={"x": left + share * wide, "y": 12})

    # Near the change is at the change.
    click_at(1003)
    click_at(1405)
    expect(page.locator("#measured")).to_contain_text("2.000 s between them, 400 ticks")


# --- Names


EVIL = "<img src=x onerror=\"document.title='had'\"><script>document.title='had'</script>{{7*7}}"


def _all_evil(thing: object) -> object:
    """The same with every text that a ship file can choose replaced."""
    if isinstance(thing, dict):
        chosen = (
            "ship",
            "name",
            "states",
            "forces",
            "caution",
            "does",
            "gate",
            "steps",
            "cautions",
        )
        return {
            key: EVIL
            if key in chosen and isinstance(value, str)
            else [EVIL for _ in value]
            if key in chosen
            else _all_evil(value)
            for key, value in thing.items()
        }
    return [_all_evil(one) for one in thing] if isinstance(thing, list) else thing


def test_no_name_is_ever_markup(page: Page) -> None:
    ship = _all_evil(paper_ship())
    assert isinstance(ship, dict)
    feed = Feed(page, ship)
    feed.open()
    feed.tell({"f": [[0, 1]]}, now={"f": [[0, [[EVIL, 10, 20]]]]}, log=[[5, "function", EVIL]])
    feed.tell_state(file={"state": "broken", "problems": [EVIL]}, link="gone", link_why=EVIL)
    expect(page.locator("#log")).to_contain_text(EVIL)
    expect(page.locator("#file-notice")).to_contain_text(EVIL)
    page.get_by_role("button", name="Force …", exact=True).click()
    page.locator(".force").first.click()
    expect(page.locator("#force-cautions")).to_contain_text(EVIL)
    assert page.locator("img, script:not([src='main.js'])").count() == 0
    assert page.title() == f"{EVIL} · Pinrail bench"


# --- How it looks


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
