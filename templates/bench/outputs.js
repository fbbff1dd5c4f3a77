// The outputs: what every pin drives.

import { byId, make, mark, say } from "./dom.js";
import { in_file_order } from "./order.js";
import { duty } from "./store.js";
import { width } from "./words.js";

/** @typedef {import("./store.js").Store} Store */
/** @typedef {import("./messages").Ship} Ship */
/** @typedef {import("./messages").Output} Output */

/**
 * @param {Output} output
 * @param {Ship} ship
 * @param {Store} store
 * @returns {{element: HTMLElement, update: () => void, write: () => void}}
 */
function row(output, ship, store) {
  const state = make("output", { class: "state number" });
  const of = output.function === null ? "nothing drives it" : ship.functions[output.function].name;
  const element = make(
    "li",
    { class: "row output" },
    make("span", { class: "peg", "aria-hidden": "true" }),
    make("span", {}, make("span", { class: "name", text: output.name }), " ",
      make("span", { class: "quiet", text: `${output.pin} · ${of}` })),
    state,
  );
  if (output.kind === "line") {
    return {
      element,
      update() {
        const on = store.lines[output.index] === 1;
        say(state, on ? "on" : "off");
        mark(element, "data-on", String(on));
      },
      write() {},
    };
  }
  const bar = make("div", { class: "bar", "aria-hidden": "true" }, make("i"));
  element.append(bar);
  const fill = (/** @type {number} */ share) =>
    bar.style.setProperty("--share", Math.min(1, Math.max(0, share)).toFixed(3));
  if (output.kind === "light") {
    return {
      element,
      update() {
        const now = store.lights[output.index];
        mark(element, "data-on", String(now > 0));
        fill(now / 255);
      },
      write: () => say(state, duty(store.lights[output.index])),
    };
  }
  const [low, high] = output.range_half_us ?? [1600, 4400];
  return {
    element,
    update() {
      const now = store.servos_half_us[output.index];
      mark(element, "data-on", String(now > 0 && now !== output.rest_half_us));
      fill((now - low) / (high - low));
    },
    write() {
      const now = store.servos_half_us[output.index];
      say(state, now ? width(now) : "no pulse");
    },
  };
}

/**
 * @param {Store} store
 * @returns {{build(ship: Ship): void, update(): void, write(): void}}
 */
export function outputs(store) {
  const list = /** @type {HTMLElement} */ (byId("outputs").querySelector("ul"));
  /** @type {Record<string, Map<number, ReturnType<typeof row>>>} */
  let rows = {};
  return {
    build(ship) {
      rows = { line: new Map(), servo: new Map(), light: new Map() };
      list.replaceChildren(
        ...in_file_order(
          ship.outputs,
          ship.outputs.map((output) => {
            const made = row(output, ship, store);
            rows[output.kind].set(output.index, made);
            made.update();
            made.write();
            return made;
          }),
        ),
      );
    },
    update() {
      for (const index of store.changed.lines) rows.line.get(index)?.update();
      for (const index of store.changed.servos) rows.servo.get(index)?.update();
      for (const index of store.changed.lights) rows.light.get(index)?.update();
    },
    write() {
      for (const index of store.unread.servos) rows.servo.get(index)?.write();
      for (const index of store.unread.lights) rows.light.get(index)?.write();
    },
  };
}
