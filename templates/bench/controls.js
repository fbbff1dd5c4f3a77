// The controls: what a thumb moves, moved here. Sprung ones spring back, unless they are told to stay.

import { byId, make, mark, say, show } from "./dom.js";
import { hold, when_let_go } from "./hold.js";
import { in_file_order } from "./order.js";
import { NOWHERE } from "./store.js";
import { width } from "./words.js";

/** @typedef {import("./store.js").Store} Store */
/** @typedef {import("./messages").Ship} Ship */
/** @typedef {import("./messages").Control} Control */
/** @typedef {(what: string, more: Record<string, unknown>) => Promise<import("./messages").Answer>} Ask */

/** A slider says where it is no more often than pulses come. */
const LEAST_MS = 20;
/** So many functions are told beside their control. */
const MOST_WORKS = 8;
/** A tap is shorter than it takes to be believed: it lasts until the ship has seen it, or so long. */
const UNSEEN_MS = 1000;
/** How long a press lasts that comes from no finger or key: from a voice, a switch, a reader. */
const PRESS_MS = 300;

/**
 * @typedef {object} Row
 * @property {HTMLElement} element
 * @property {() => void} update shows where the ship sees it
 * @property {() => void} write says so in words
 * @property {(can: boolean) => void} enable
 * @property {ReturnType<typeof works>} works
 */

/**
 * @param {Control} control
 * @param {number} index
 * @param {HTMLElement} seen
 * @param {HTMLElement[]} thumb
 * @param {Ship} ship
 * @param {HTMLElement} works
 */
function frame(control, index, seen, thumb, ship, works) {
  const name = make("span", { class: "name", id: `control-${index}`, text: control.name });
  const slot = control.slot ? `slot ${control.slot} of ${ship.channels[control.channel].name}` : "";
  const cap = control.colour ? `${control.colour} cap` : "";
  const quiet = [slot, cap].filter(Boolean).join(", ");
  const words = make("span", {}, name, " ", make("span", { class: "quiet", text: quiet }));
  return make(
    "li",
    { class: "row control", role: "group", "aria-labelledby": `control-${index}` },
    make("header", {}, words, seen),
    make("div", { class: "thumb" }, ...thumb),
    works,
  );
}

/**
 * What the functions that obey a control are doing, for whoever has only the control in sight.
 * @param {Store} store
 * @param {Ship} ship
 * @param {number} index
 * @returns {{element: HTMLElement, functions: number[], update: () => void}}
 */
function works(store, ship, index) {
  const element = make("span", { class: "quiet works" });
  const functions = ship.functions.flatMap((one, place) =>
    one.controls.includes(index) ? [place] : [],
  );
  const shown = functions.slice(0, MOST_WORKS);
  const more = functions.length - shown.length;
  return {
    element,
    functions: shown,
    update() {
      const words = shown.map((place) => {
        const { name, states } = ship.functions[place];
        return `${name} ${states[store.states[place]] ?? "in between"}`;
      });
      say(element, [...words, ...(more ? [`and ${more} more`] : [])].join(" · "));
    },
  };
}

/**
 * A control with named positions.
 * @param {Store} store
 * @param {Ship} ship
 * @param {number} index
 * @param {Ask} ask
 * @returns {Row}
 */
function positions(store, ship, index, ask) {
  const control = ship.controls[index];
  const doing = works(store, ship, index);
  const seen = make("span", { class: "quiet" });
  let stays = false;
  /** Where a tap has pressed it that the ship has not seen yet. */
  let tapped = NOWHERE;
  let springs = 0;
  const spring = () => {
    clearTimeout(springs);
    tapped = NOWHERE;
    move(control.rest);
  };
  when_let_go(() => tapped !== NOWHERE && spring());
  const move = (/** @type {number} */ position) => ask("move", { control: index, position });
  const buttons = control.positions.map((position, place) => {
    const button = make("button", { type: "button", "aria-pressed": "false", text: position.name });
    let last = 0;
    const press = () => {
      clearTimeout(springs);
      tapped = NOWHERE;
      last = performance.now();
      move(place);
    };
    const release = () => {
      last = performance.now();
      if (!control.sprung || stays || place === control.rest) return;
      if (store.positions[index] === place) return spring();
      tapped = place;
      springs = window.setTimeout(spring, UNSEEN_MS);
    };
    hold(button, press, release);
    button.addEventListener("click", () => {
      // A finger or a key has pressed and let go just now, and says "click" as well.
      if (performance.now() - last < PRESS_MS) return;
      press();
      setTimeout(release, PRESS_MS);
    });
    return button;
  });
  /** @type {HTMLElement[]} */
  const thumb = [make("div", { class: "positions" }, ...buttons)];
  const stay = make("button", {
    type: "button", class: "stay", "aria-pressed": "false", text: "stay",
    title: "Let it stay where it was pressed, to have both hands free",
  });
  if (control.sprung) {
    stay.addEventListener("click", () => {
      stays = !stays;
      mark(stay, "aria-pressed", String(stays));
      if (!stays) move(control.rest);
    });
    thumb.push(stay);
  }
  return {
    element: frame(control, index, seen, thumb, ship, doing.element),
    works: doing,
    update() {
      const at = store.positions[index];
      if (at !== NOWHERE && at === tapped) spring();
      buttons.forEach((button, place) => mark(button, "aria-pressed", String(place === at)));
    },
    write() {
      if (store.positions[index] === NOWHERE) say(seen, "nowhere yet");
      else say(seen, store.armed[index] ? "" : "must rest first");
    },
    enable(can) {
      for (const button of [...buttons, stay]) button.disabled = !can;
    },
  };
}

/**
 * A control that has a value: a knob, a stick.
 * @param {Store} store
 * @param {Ship} ship
 * @param {number} index
 * @param {Ask} ask
 * @returns {Row}
 */
function slider(store, ship, index, ask) {
  const control = ship.controls[index];
  const [low, high] = control.ends_half_us;
  const doing = works(store, ship, index);
  const seen = make("span", { class: "quiet number" });
  const input = make("input", {
    type: "range", min: low, max: high, step: 2, "aria-labelledby": `control-${index}`,
  });
  const resting = control.positions[control.rest];
  const rest = resting
    ? 2 * Math.round((resting.low_half_us + resting.high_half_us) / 4)
    : 2 * Math.round((low + high) / 4);
  input.value = String(rest);
  let held = false;
  let by_key = false;
  let told_ms = 0;
  let waits = false;
  const tell = () => {
    waits = false;
    told_ms = performance.now();
    ask("move", { control: index, half_us: Number(input.value) });
  };
  const words = (/** @type {number} */ half_us) =>
    `${Math.round(((half_us - low) * 100) / (high - low))} %, ${width(half_us)}`;
  const let_go = () => {
    if (!held) return;
    held = false;
    if (control.sprung) {
      input.value = String(rest);
      tell();
    }
  };
  input.addEventListener("input", () => {
    held = true;
    if (waits) return;
    waits = true;
    setTimeout(tell, Math.max(0, told_ms + LEAST_MS - performance.now()));
  });
  input.addEventListener("pointerdown", (event) => input.setPointerCapture(event.pointerId));
  input.addEventListener("keydown", () => (by_key = true));
  input.addEventListener("keyup", () => (by_key = false));
  for (const event of ["pointerup", "pointercancel", "lostpointercapture", "keyup", "blur"]) {
    input.addEventListener(event, let_go);
  }
  // A key that is held says "change" again and again; the slider springs back when it comes up.
  input.addEventListener("change", () => by_key || let_go());
  when_let_go(let_go);
  return {
    element: frame(control, index, seen, [input], ship, doing.element),
    works: doing,
    update() {
      const half_us = store.values_half_us[index];
      if (!held && half_us > 0 && Number(input.value) !== half_us) input.value = String(half_us);
    },
    write() {
      const half_us = store.values_half_us[index];
      const text = half_us > 0 ? words(half_us) : "nowhere yet";
      say(seen, text);
      mark(input, "aria-valuetext", text);
    },
    enable(can) {
      input.disabled = !can;
    },
  };
}

/**
 * @param {Store} store
 * @param {Ask} ask
 * @returns {{build(ship: Ship): void, update(): void, write(): void, able(): void}}
 */
export function controls(store, ask) {
  const list = /** @type {HTMLElement} */ (byId("controls").querySelector("ul"));
  const note = byId("controls-note");
  /** @type {Row[]} */
  let rows = [];
  /** @type {Row[][]} which controls a function obeys */
  let of_function = [];
  return {
    build(ship) {
      rows = ship.controls.map((control, index) =>
        (control.proportional ? slider : positions)(store, ship, index, ask),
      );
      list.replaceChildren(...in_file_order(ship.controls, rows));
      of_function = ship.functions.map(() => []);
      for (const row of rows) {
        row.update();
        row.write();
        row.works.update();
        for (const place of row.works.functions) of_function[place].push(row);
      }
      this.able();
    },
    update() {
      for (const index of store.changed.controls) rows[index].update();
    },
    write() {
      for (const index of store.unread.controls) rows[index].write();
      /** @type {Set<Row>} */
      const working = new Set();
      for (const index of store.unread.functions) {
        for (const row of of_function[index]) working.add(row);
      }
      for (const row of working) row.works.update();
    },
    able() {
      const can = store.state?.can.move ?? false;
      rows.forEach((row) => row.enable(can));
      show(note, !can && store.state !== null);
      const bench = store.state?.bench;
      say(note, bench?.why || "They are moved by the transmitter; here is how the board sees them.");
    },
  };
}
