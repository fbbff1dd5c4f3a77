// The supplies: what flows now, beside the worst that the ship file allows and the fuse.

import { byId, make, mark, say, show } from "./dom.js";
import { current } from "./words.js";

/** @typedef {import("./store.js").Store} Store */
/** @typedef {import("./messages").Ship} Ship */

/**
 * @param {Store} store
 * @returns {{build(ship: Ship): void, write(): void}}
 */
export function supplies(store) {
  const list = /** @type {HTMLElement} */ (byId("supplies").querySelector("ul"));
  const note = byId("supplies-note");
  /** @type {(() => void)[]} */
  let rows = [];
  return {
    build(ship) {
      show(note, Boolean(ship.no_currents) || !ship.supplies.length);
      say(note, ship.no_currents || "The ship file names no supply.");
      /** @type {Map<string, number>} */
      const depth = new Map();
      rows = [];
      list.replaceChildren(
        ...ship.supplies.map((supply, index) => {
          const deep = supply.parent ? (depth.get(supply.parent) ?? 0) + 1 : 0;
          depth.set(supply.name, deep);
          const now = make("output", { class: "now number" });
          const bar = make("div", { class: "bar", "aria-hidden": "true" }, make("i"));
          const fuse = supply.fuse_ma === null ? "" : `, fuse ${current(supply.fuse_ma)}`;
          const most = Math.max(supply.worst_ma, supply.fuse_ma ?? 0, 1);
          const over = make("b");
          const element = make(
            "li",
            { class: "row supply inner" },
            make("header", {}, make("span", {}, make("span", { class: "name", text: supply.name }), " ",
              make("span", { class: "quiet", text: `${supply.voltage_v} V ${supply.of}` })), now),
            bar,
            make("span", { class: "quiet" }, `at worst ${current(supply.worst_ma)}${fuse} `, over),
          );
          element.style.setProperty("--deep", String(Math.min(deep, 5)));
          rows.push(() => {
            const ma = store.supplies_ma[index];
            say(now, current(ma));
            bar.style.setProperty("--share", Math.min(1, ma / most).toFixed(3));
            const beyond = supply.fuse_ma !== null && ma > supply.fuse_ma;
            say(over, beyond ? "▲ more than the fuse" : "");
            mark(element, "data-beyond", String(beyond));
          });
          return element;
        }),
      );
      rows.forEach((update) => update());
    },
    write() {
      for (const index of store.unread.supplies) rows[index]();
    },
  };
}
