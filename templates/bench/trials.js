// Runs a trial of the ship file and shows where it is.

import { buttonById, byId, make, mark, say } from "./dom.js";
import { time } from "./words.js";

/** @typedef {import("./store.js").Store} Store */
/** @typedef {import("./messages").Ship} Ship */
/** @typedef {import("./controls.js").Ask} Ask */

/**
 * @param {Store} store
 * @param {Ask} ask
 * @param {(why: string) => Promise<boolean>} sure
 * @returns {{build(ship: Ship): void, able(): void}}
 */
export function trials(store, ask, sure) {
  const choice = /** @type {HTMLSelectElement} */ (byId("trial-name"));
  const run = buttonById("trial-run");
  const stop = buttonById("trial-stop");
  const verdict = byId("trial-verdict");
  const now = byId("trial-now");
  const list = byId("trial-steps");
  /** What was refused; the verdict of a trial that runs comes from the bench. */
  let refused = "";

  const steps = () => {
    const trial = store.ship?.trials.find((one) => one.name === choice.value);
    list.replaceChildren(...(trial?.steps ?? []).map((text) => make("li", { text })));
    refused = "";
    able();
  };
  choice.addEventListener("change", steps);
  run.addEventListener("click", async () => {
    refused = "";
    const name = choice.value;
    let answer = await ask("trial", { name });
    if (answer.code === "sure" && (await sure(answer.why ?? ""))) {
      answer = await ask("trial", { name, sure: true });
    }
    refused = answer.ok ? "" : `Not run: ${answer.why ?? ""}`;
    able();
  });
  stop.addEventListener("click", () => ask("stop", {}));

  const able = () => {
    const state = store.state;
    if (!state) return;
    const trial = state.trial;
    const runs = trial !== null && !trial.over;
    run.disabled = !state.can.trial || runs || !choice.value;
    stop.disabled = !runs;
    choice.disabled = runs || !choice.options.length;
    if (trial && runs && trial.name !== choice.value) {
      choice.value = trial.name;
      steps();
    }
    const shown = trial && trial.name === choice.value ? trial : null;
    [...list.children].forEach((step, index) => {
      const here = shown !== null && !shown.over && index === shown.step;
      if (here && step.getAttribute("aria-current") !== "step") {
        step.setAttribute("aria-current", "step");
        step.scrollIntoView({ block: "nearest" });
      } else if (!here) step.removeAttribute("aria-current");
      const done = shown !== null && (index < shown.step || (shown.over && shown.passed === true));
      if (done) mark(step, "data-done", "");
      else step.removeAttribute("data-done");
    });
    const at = shown && !shown.over ? shown : null;
    say(now, at ? `Step ${Math.min(at.step + 1, at.steps)} of ${at.steps}, ${time(at.tick)} of ${time(at.ticks)}` : "");
    if (refused) say(verdict, refused);
    else if (!shown || at) say(verdict, "");
    else if (shown.passed) say(verdict, "✓ Passed");
    else if (shown.passed === false) say(verdict, `▲ Fell short\n${shown.failures.join("\n")}`);
    else say(verdict, "Stopped before its end");
  };

  return {
    build(ship) {
      const before = choice.value;
      choice.replaceChildren(...ship.trials.map((one) => make("option", { value: one.name, text: one.name })));
      if (ship.trials.some((one) => one.name === before)) choice.value = before;
      steps();
    },
    able,
  };
}
