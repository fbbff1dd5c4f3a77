"""What the page says when it is told what a bench seldom has to tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.host_tools.bench.feed import ORIGIN, Feed, paper_ship

if TYPE_CHECKING:
    from playwright.sync_api import Page


@pytest.fixture
def feed(page: Page) -> Feed:
    feed = Feed(page)
    feed.open()
    return feed


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


# --- What is remembered never grows


RINGS = """async () => {
  const { Ring } = await import("./ring.js");
  const wrong = [];
  for (let capacity = 1; capacity <= 5; capacity += 1) {
    const ring = new Ring(capacity);
    const all = [];
    for (let tick = 0; tick < 23; tick += 1) {
      if (tick % 3) { ring.push(tick, -tick); all.push(tick); }
      const kept = all.slice(-capacity);
      for (let asked = -1; asked <= tick; asked += 1) {
        const known = kept.filter((one) => one <= asked).length - 1;
        const at = ring.at(asked);
        const right = at === known && ring.length === kept.length
          && (at < 0 || ring.value(at) === -kept[at]);
        if (!right) wrong.push([capacity, tick, asked, at, known]);
      }
    }
    const copy = ring.copy();
    ring.push(99, 99);
    if (copy.tick(copy.length - 1) !== 22) wrong.push([capacity, "copy"]);
  }
  return wrong;
}"""


def test_a_ring_keeps_the_newest_and_finds_them(page: Page) -> None:
    """Held against a list that keeps everything."""
    Feed(page).open()
    assert page.evaluate(RINGS) == []


def test_the_log_keeps_its_last_lines(feed: Feed, page: Page) -> None:
    for part in range(4):
        feed.tell({}, log=[[5, "function", f"line {100 * part + one}"] for one in range(100)])
        expect(page.locator("#log li").first).to_contain_text(f"line {100 * part + 99}")
    expect(page.locator("#log li")).to_have_count(250)
