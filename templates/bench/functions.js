// The functions: what each one is doing, and for how long it still will.

import { buttonById, byId, make, mark, say, show } from "./dom.js";
import { in_file_order } from "./order.js";
import { left } from "./words.js";

/** @typedef {import("./store.js").Store} Store */
/** @typedef {import("./messages").Ship} Ship */
/** @typedef {import("./messages").Count} Count */

/**
 * What a person must do to have it do something: "deck key up: press on, press off".
 * @param {Ship} ship
 * @param {number} index
 * @returns {string}
 */
function asked_by(ship, index) {
  return ship.functions[index].answers
    .map(({ control, position, does }) => {
      const { name, positions } = ship.controls[control];
      const where = position === null ? "" : ` ${positions[position]?.name ?? ""}`;
      return `${name}${where}: ${does}`;
    })
    .join("; ");
}

class FunctionRow {
  /**
   * @param {Store} store
   * @param {Ship} ship
   * @param {number} index
   * @param {(index: number) => void} force
   */
  constructor(store, ship, index, force) {
    this.store = store;
    this.index = index;
    this.words = ship.functions[index].states;
    const { name, gate, behaviour, limits } = ship.functions[index];
    this.state = make("output", { class: "state" });
    this.counts = make("ul", { class: "counts", "aria-label": `${name}: time left` });
    this.button = make("button", { type: "button", class: "force", text: "Force …" });
    this.button.setAttribute("aria-label", `Force ${name} …`);
    this.button.addEventListener("click", () => force(index));
    const asked = asked_by(ship, index);
    const how = [behaviour, asked, asked.includes(limits) ? "" : limits, gate].filter(Boolean).join(" · ");
    this.element = make(
      "li",
      { class: "row function" },
      make("span", { class: "peg", "aria-hidden": "true" }),
      make("span", { class: "name", text: name }),
      this.state,
      make("div", { class: "more" }, make("span", { class: "quiet", text: how }), this.button),
      this.counts,
    );
    /** @type {{what: HTMLElement, bar: HTMLElement, number: HTMLElement, element: HTMLElement}[]} */
    this.meters = [];
  }

  update() {
    const state = this.store.states[this.index];
    say(this.state, this.words[state] ?? "in between");
    mark(this.element, "data-on", String(state !== 0));
    mark(this.element, "data-forced", String(this.store.forced === this.index));
  }

  count() {
    const counts = this.store.counts[this.index];
    while (this.meters.length < counts.length) this._add();
    show(this.counts, counts.length > 0);
    this.meters.forEach((meter, place) => {
      const count = counts[place];
      show(meter.element, count !== undefined);
      if (!count) return;
      const [what, left_ticks, of_ticks] = count;
      const unknown = left_ticks < 0;
      say(meter.what, what);
      say(meter.number, unknown ? "not known" : of_ticks ? `${left(left_ticks)} of ${left(of_ticks)}` : left(left_ticks));
      mark(meter.bar, "data-unknown", String(unknown));
      meter.bar.style.setProperty("--share", (of_ticks ? left_ticks / of_ticks : 0).toFixed(3));
    });
  }

  _add() {
    const what = make("span");
    const bar = make("div", { class: "bar", "aria-hidden": "true" }, make("i"));
    const number = make("span", { class: "number" });
    const element = make("li", {}, what, bar, number);
    this.meters.push({ what, bar, number, element });
    this.counts.append(element);
  }
}

/**
 * @param {Store} store
 * @param {(index: number) => void} force someone wants to force this one
 * @returns {{build(ship: Ship): void, update(): void, write(): void, able(): void}}
 */
export function functions(store, force) {
  const panel = byId("functions");
  const list = /** @type {HTMLElement} */ (panel.querySelector("ul"));
  const forcing = buttonById("force-mode");
  forcing.addEventListener("click", () => {
    const on = !("forcing" in panel.dataset);
    if (on) panel.dataset.forcing = "";
    else delete panel.dataset.forcing;
    mark(forcing, "aria-pressed", String(on));
  });
  /** @type {FunctionRow[]} */
  let rows = [];
  let can_force = /** @type {boolean | null} */ (null);
  return {
    build(ship) {
      rows = ship.functions.map((_, index) => new FunctionRow(store, ship, index, force));
      list.replaceChildren(...in_file_order(ship.functions, rows));
      for (const row of rows) {
        row.update();
        row.count();
      }
      can_force = null;
      this.able();
    },
    update() {
      for (const index of store.changed.functions) rows[index].update();
    },
    write() {
      for (const index of store.unread.counts) rows[index].count();
    },
    able() {
      const can = store.state?.can.force ?? false;
      if (can === can_force) return;
      can_force = can;
      show(forcing, can);
      for (const row of rows) show(row.button, can);
    },
  };
}
