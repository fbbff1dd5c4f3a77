// The sensors: what they read and, where nothing real is felt, what they are to read.

import { byId, make, mark, say, show } from "./dom.js";
import { in_file_order } from "./order.js";

/** @typedef {import("./store.js").Store} Store */
/** @typedef {import("./messages").Ship} Ship */
/** @typedef {import("./controls.js").Ask} Ask */

/**
 * @param {Store} store
 * @param {Ask} ask
 * @returns {{build(ship: Ship): void, write(): void, able(): void}}
 */
export function sensors(store, ask) {
  const panel = byId("sensors");
  const list = /** @type {HTMLElement} */ (panel.querySelector("ul"));
  /** @type {{element: HTMLElement, update: () => void, able: (can: boolean) => void}[]} */
  let rows = [];

  const row = (/** @type {Ship} */ ship, /** @type {number} */ index) => {
    const { name, pin, kind, most, most_mv } = ship.sensors[index];
    const now = make("output", { class: "number" });
    const words = make("span", {}, make("span", { class: "name", id: `sensor-${index}`, text: name }), " ",
      make("span", { class: "quiet", text: pin }));
    const tell = (/** @type {number} */ reading) => ask("sense", { sensor: index, reading });
    const head = make("header", {}, words, now);
    if (kind === "contact") {
      const buttons = ["open", "closed"].map((text, reading) => {
        const button = make("button", { type: "button", "aria-pressed": "false", text });
        button.addEventListener("click", () => tell(reading));
        return button;
      });
      const group = make("div", { class: "positions", role: "group", "aria-labelledby": `sensor-${index}` }, ...buttons);
      return {
        element: make("li", { class: "row sensor" }, head, group),
        update: () => buttons.forEach((button, reading) => mark(button, "aria-pressed", String(reading === store.readings[index]))),
        able: (/** @type {boolean} */ can) => buttons.forEach((button) => (button.disabled = !can)),
      };
    }
    const input = make("input", { type: "range", min: 0, max: most, "aria-labelledby": `sensor-${index}` });
    let held = false;
    input.addEventListener("input", () => {
      held = true;
      tell(Number(input.value));
    });
    input.addEventListener("change", () => (held = false));
    return {
      element: make("li", { class: "row sensor" }, head, input),
      update() {
        const reading = store.readings[index];
        const text = `${((reading * most_mv) / most / 1000).toFixed(2)} V`;
        say(now, text);
        mark(input, "aria-valuetext", text);
        if (!held) input.value = String(reading);
      },
      able: (/** @type {boolean} */ can) => void (input.disabled = !can),
    };
  };

  return {
    build(ship) {
      rows = ship.sensors.map((_, index) => row(ship, index));
      list.replaceChildren(...in_file_order(ship.sensors, rows));
      show(panel, rows.length > 0);
      rows.forEach((one) => one.update());
      this.able();
    },
    write() {
      for (const index of store.unread.sensors) rows[index].update();
    },
    able() {
      const can = store.state?.can.sense ?? false;
      rows.forEach((one) => one.able(can));
    },
  };
}
