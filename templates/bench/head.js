// What is always visible: what is connected, which plan, whether board and model agree, the signal;
// and what has to be said at once.

import { buttonById, byId, say, show } from "./dom.js";
import { many, some } from "./words.js";

/** @typedef {import("./store.js").Store} Store */
/** @typedef {import("./messages").Ship} Ship */
/** @typedef {import("./messages").State} State */
/** @typedef {import("./controls.js").Ask} Ask */
/** @typedef {"good" | "wait" | "bad" | ""} Is */

const SIGNAL = /** @type {const} */ ({
  all: ["heard on all channels", "good"],
  some: ["lost on some channels", "bad"],
  none: ["lost", "bad"],
  never: ["none heard yet", "wait"],
});

/**
 * @param {string} id
 * @param {string} text
 * @param {Is} is
 */
function fact(id, text, is) {
  const element = byId(`fact-${id}`);
  say(/** @type {HTMLElement} */ (element.querySelector("dd")), text);
  element.dataset.is = is;
}

/** @param {State} state */
function agreement(state) {
  const { agreement: found } = state;
  if (!found) return fact("agree", "this is the model", "");
  if (found.differences) return fact("agree", `${some(found.differences, "difference")} after ${many(found.compared_ticks)} ticks`, "bad");
  const ticks = `${some(found.compared_ticks, "tick")} compared`;
  if (found.waits) return fact("agree", `${ticks}; waits: ${found.waits}`, "wait");
  fact("agree", `${ticks}, no difference`, found.compared_ticks ? "good" : "wait");
}

/**
 * @param {Store} store
 * @param {Ask} ask
 * @returns {{build(ship: Ship): void, able(): void, linked(up: boolean, why: string): void}}
 */
export function head(store, ask) {
  const link_notice = byId("link-notice");
  const file_notice = byId("file-notice");
  const inputs_notice = byId("inputs-notice");
  const difference = byId("difference-notice");
  const inputs = buttonById("inputs");
  const stop_all = buttonById("stop-all");
  let up = false;
  let why = "Looking for the bench …";

  stop_all.addEventListener("click", () => ask("stop", {}));
  inputs.addEventListener("click", () => ask("inputs", { on: !store.state?.bench.inputs }));

  const able = () => {
    const state = store.state;
    const board_away = state !== null && state.link !== "up";
    show(link_notice, !up || board_away);
    link_notice.classList.toggle("wrong", !up || state?.link === "wrong" || state?.link === "gone");
    if (!up) say(link_notice, `▲ ${why}`);
    else if (state?.link === "starting") say(link_notice, `Starting ${state.where} … ${state.link_why}`);
    else if (board_away) say(link_notice, `▲ ${state?.link_why || "The board does not answer."}`);
    if (!state) return;
    fact("where", up ? state.where : "no bench", up && state.link === "up" ? "good" : "bad");
    const plan = state.board_plan || store.ship?.plan || "";
    if (state.plan_is_files) fact("plan", `${plan}, the file's`, "good");
    else if (plan) fact("plan", `${plan}, not the file's`, "bad");
    else fact("plan", "not known yet", "wait");
    agreement(state);
    const [text, is] = SIGNAL[state.signal];
    fact("signal", text, is);
    stop_all.disabled = !up || !(state.can.move || state.can.trial || state.can.force);
    show(difference, Boolean(state.agreement?.differences));
    say(/** @type {HTMLElement} */ (difference.querySelector("span")), state.agreement?.first ?? "");
    file(state);
    show(inputs_notice, state.source === "board" && up);
    show(inputs, state.bench.allowed);
    say(/** @type {HTMLElement} */ (inputs_notice.querySelector("span")), bench(state));
    say(inputs, state.bench.inputs ? "Give it back to the receiver" : "Work it from here");
  };

  const file = (/** @type {State} */ state) => {
    const { state: is, problems } = state.file;
    show(file_notice, is !== "same");
    file_notice.classList.toggle("wrong", is === "broken" || is === "missing");
    const name = store.ship?.file ?? "the ship file";
    const words = {
      same: "",
      newer: `${name} was saved since: the board runs an older plan. Upload it to run the new one.`,
      broken: `▲ ${name} has mistakes; what ran before goes on.`,
      missing: `▲ ${name} is gone; what ran before goes on.`,
    };
    say(/** @type {HTMLElement} */ (file_notice.querySelector("strong")), words[is]);
    const list = /** @type {HTMLElement} */ (file_notice.querySelector("pre"));
    show(list, problems.length > 0);
    say(list, problems.join("\n"));
  };

  return {
    build(ship) {
      say(byId("ship-name"), ship.ship);
      say(byId("ship-file"), `${ship.file}, ${ship.board}`);
      document.title = `${ship.ship} · Pinrail bench`;
    },
    able,
    linked(is_up, reason) {
      up = is_up;
      why = reason;
      able();
      if (!up) {
        fact("where", "no bench", "bad");
        stop_all.disabled = true;
        buttonById("record").disabled = true;
      }
    },
  };
}

/** @param {State} state */
function bench(state) {
  if (!state.bench.allowed) return state.bench.why || "This board takes nothing from the bench.";
  if (state.bench.inputs) return "Worked from here: its receiver is not heard until it starts anew.";
  return "It is worked by its receiver.";
}
