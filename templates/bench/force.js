// Force: one function, against nothing but its limits. The caution comes first; it is armed by a
// deliberate act; it runs only while it is held. The bench ends it too when it does not hear `keep`.

import { buttonById, byId, make, say, show } from "./dom.js";
import { hold } from "./hold.js";
import { left } from "./words.js";

/** @typedef {import("./store.js").Store} Store */
/** @typedef {import("./messages").Ship} Ship */
/** @typedef {import("./controls.js").Ask} Ask */

/** The bench ends a force 300 ms after the last word from its page. */
const KEEP_MS = 100;

/**
 * @param {Store} store
 * @param {Ask} ask
 * @returns {{choose(index: number): void, build(ship: Ship): void, able(): void, lost(): void}}
 */
export function force(store, ask) {
  const panel = byId("force");
  const read = /** @type {HTMLInputElement} */ (byId("force-read"));
  const arm = buttonById("force-arm");
  const holds = byId("force-holds");
  const said = byId("force-said");
  const now = byId("force-now");
  /** @type {number | null} the function that is spoken of */
  let chosen = null;
  let chosen_name = "";
  /** Says that somebody is here, from arming to letting go. */
  let keeps = 0;
  /** The bench has said so. */
  let was_mine = false;
  /** A hand holds it. */
  let held = false;
  /** @type {(() => void)[]} */
  let ends = [];
  /** @type {HTMLElement | null} where the focus goes back to */
  let from = null;

  const disarm = () => {
    clearInterval(keeps);
    keeps = 0;
    was_mine = false;
    for (const end of ends) end();
    ends = [];
    holds.replaceChildren();
    arm.disabled = !read.checked;
    show(arm, true);
  };

  const close = () => {
    disarm();
    chosen = null;
    show(panel, false);
    ask("free", {});
    from?.focus();
  };

  const end = () => {
    if (!held) return;
    held = false;
    ask("free", {});
    say(said, "Let go: it has ended. Arm it anew to run it again.");
    disarm();
  };

  const refused = (/** @type {import("./messages").Answer} */ answer) => {
    held = false;
    read.checked = false;
    disarm();
    say(said, `Refused: ${answer.why ?? "no reason was given"}${answer.hint ? ` (${answer.hint})` : ""}`);
  };

  const begin = async (/** @type {number} */ state) => {
    if (chosen === null || !keeps || held) return;
    held = true;
    say(said, "");
    const answer = await ask("force", { function: chosen, state });
    if (!answer.ok) refused(answer);
  };

  const offer = () => {
    if (chosen === null || !store.ship) return;
    store.ship.functions[chosen].forces.forEach((word, state) => {
      if (state === 0) return;
      const button = make("button", { type: "button", class: "hold", text: `Hold for ${word}` });
      ends.push(hold(button, () => begin(state), end));
      holds.append(button);
    });
    show(arm, false);
    /** @type {HTMLElement | null} */ (holds.querySelector("button"))?.focus();
  };

  read.addEventListener("change", () => (arm.disabled = !read.checked));
  byId("force-close").addEventListener("click", close);
  panel.addEventListener("keydown", (event) => {
    if (event.key === "Escape") close();
  });
  arm.addEventListener("click", async () => {
    if (chosen === null || !read.checked) return;
    const answer = await ask("arm", { function: chosen, sure: true });
    if (!answer.ok) return refused(answer);
    clearInterval(keeps);
    keeps = window.setInterval(() => ask("keep", {}), KEEP_MS);
    say(said, "Armed. Hold one of these; it ends when you let go.");
    offer();
  });

  return {
    choose(index) {
      if (!store.ship) return;
      if (chosen === null) from = /** @type {HTMLElement | null} */ (document.activeElement);
      if (chosen !== null) ask("free", {});
      read.checked = false;
      disarm();
      chosen = index;
      const { name, caution } = store.ship.functions[index];
      chosen_name = name;
      say(byId("force-name"), name);
      say(said, "");
      say(now, "not armed");
      const lines = [caution, ...store.ship.cautions].filter(Boolean);
      byId("force-cautions").replaceChildren(...lines.map((text) => make("li", { text })));
      show(panel, true);
      panel.scrollIntoView({ block: "nearest" });
      read.focus();
    },
    build(ship) {
      const again = ship.functions.findIndex((one) => one.name === chosen_name);
      if (chosen !== null && ship.functions[chosen]?.name !== chosen_name) {
        if (again >= 0) this.choose(again);
        else close();
      }
    },
    able() {
      const state = store.state;
      if (chosen === null || !state) return;
      if (!state.can.force) {
        disarm();
        show(panel, false);
        chosen = null;
        return;
      }
      const mine = state.force?.mine && state.force.function === chosen ? state.force : null;
      const words = store.ship?.functions[chosen]?.forces ?? [];
      if (!mine) say(now, state.force ? "another function is armed or forced" : "not armed");
      else if (mine.state === null) say(now, `armed for ${left(mine.left_ticks)}`);
      else say(now, `running: ${words[mine.state] ?? ""}, at most ${left(mine.left_ticks)} more`);
      if (mine) was_mine = true;
      else if (keeps && was_mine) {
        // Its time was over, or a rule has ended it.
        held = was_mine = false;
        disarm();
      }
    },
    lost() {
      read.checked = false;
      disarm();
      say(now, "not armed");
    },
  };
}
