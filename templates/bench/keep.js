// Keeps what was seen: records, and saves a recording or the last minute as a trace or as a trial.

import { buttonById, byId, mark, say, show } from "./dom.js";
import { time } from "./words.js";

/** @typedef {import("./store.js").Store} Store */
/** @typedef {import("./messages").Answer} Answer */
/** @typedef {import("./controls.js").Ask} Ask */

/**
 * @param {Store} store
 * @param {Ask} ask
 * @returns {{able(): void, sure(why: string): Promise<boolean>}}
 */
export function keep(store, ask) {
  const record = buttonById("record");
  const what = /** @type {HTMLSelectElement} */ (byId("keep-what"));
  const name = /** @type {HTMLInputElement} */ (byId("keep-name"));
  const save_trace = buttonById("keep-trace");
  const save_trial = buttonById("keep-trial");
  const said = byId("keep-said");
  const box = byId("keep-sure");
  /** @type {((yes: boolean) => void) | null} */
  let decide = null;

  const sure = (/** @type {string} */ why) => {
    decide?.(false);
    say(/** @type {HTMLElement} */ (box.querySelector("pre")), why);
    show(box, true);
    buttonById("keep-yes").focus();
    return new Promise((/** @type {(yes: boolean) => void} */ resolve) => {
      decide = (yes) => {
        decide = null;
        show(box, false);
        resolve(yes);
      };
    });
  };
  buttonById("keep-yes").addEventListener("click", () => decide?.(true));
  buttonById("keep-no").addEventListener("click", () => decide?.(false));

  const tell = (/** @type {Answer} */ answer, /** @type {string} */ done) => {
    if (answer.ok) say(said, done);
    else say(said, `Not kept: ${answer.why ?? ""}${answer.hint ? ` (${answer.hint})` : ""}`);
  };

  record.addEventListener("click", async () => {
    const on = store.state?.recording.on ?? false;
    const answer = await ask("record", { on: !on });
    if (!answer.ok) tell(answer, "");
    else if (on) what.value = "recording";
  });

  save_trace.addEventListener("click", async () => {
    const asked = { what: what.value, name: name.value.trim() };
    let answer = await ask("save_trace", asked);
    if (answer.code === "exists" && (await sure(`${answer.why ?? ""}\nReplace it?`))) {
      answer = await ask("save_trace", { ...asked, replace: true });
    }
    tell(answer, `Saved: ${answer.path ?? ""}`);
  });

  save_trial.addEventListener("click", async () => {
    const asked = { what: what.value, name: name.value.trim() };
    if (!asked.name) {
      say(said, "A trial needs a name: say what it shows.");
      name.focus();
      return;
    }
    const text = await ask("trial_text", asked);
    if (!text.ok) return tell(text, "");
    let answer = await ask("save_trial", asked);
    if (answer.code === "sure") {
      const left_out = (text.left_out ?? []).map((one) => `left out: ${one}`);
      const why = [answer.why ?? "", "", text.text ?? "", ...left_out].join("\n");
      if (!(await sure(why))) return say(said, "Nothing was written.");
      answer = await ask("save_trial", { ...asked, sure: true });
    }
    tell(answer, `In the ship file now: ${answer.path ?? ""}, line ${answer.line ?? ""}`);
  });
  what.addEventListener("change", () => able());

  const able = () => {
    const state = store.state;
    if (!state) return;
    const { on, ticks, from_power_up, full } = state.recording;
    record.disabled = state.link !== "up";
    mark(record, "aria-pressed", String(on));
    say(byId("record-word"), on ? `Recording ${Math.floor(ticks / 200)} s: end` : "Record");
    const length = what.value === "recording" ? ticks : state.seen_ticks;
    const nothing = length === 0;
    save_trace.disabled = save_trial.disabled = nothing;
    const where = what.value === "recording" && from_power_up ? ", from power-up on" : "";
    const end = full ? "; it is full" : "";
    say(byId("keep-note"), nothing ? "There is nothing to keep yet." : `${time(length)} of it${where}${end}`);
  };
  return { able, sure };
}
