// The log in the ship's own words; the last lines of it.

import { byId, make, say } from "./dom.js";
import { time } from "./words.js";

/** @typedef {import("./messages").Rows} Rows */

const MOST_LINES = 250;
/** What is said aloud to those who listen to the page. */
const ALOUD = new Set(["signal", "force", "fault", "difference", "link", "file", "trial"]);

/** @returns {{take(rows: Rows): void, update(): void}} */
export function log() {
  const scroll = /** @type {HTMLElement} */ (byId("log").querySelector(".scroll"));
  const list = /** @type {HTMLElement} */ (scroll.querySelector("ol"));
  const aloud = byId("aloud");
  /** @type {[number, string, string][]} */
  let fresh = [];
  return {
    take(rows) {
      if (!rows.log) return;
      fresh.push(...rows.log);
      if (fresh.length > MOST_LINES) fresh = fresh.slice(-MOST_LINES);
    },
    update() {
      if (!fresh.length) return;
      // The newest comes first: it is where the eye is, and nothing has to be scrolled for it.
      const lines = fresh.reverse().map(([tick, kind, text]) =>
        make(
          "li",
          { "data-kind": kind },
          make("span", { class: "number quiet", text: time(tick) }),
          make("span", { class: "kind quiet", text: kind }),
          make("span", { text }),
        ),
      );
      const spoken = fresh.find(([, kind]) => ALOUD.has(kind));
      if (spoken) say(aloud, spoken[2]);
      list.prepend(...lines);
      while (list.children.length > MOST_LINES) list.lastElementChild?.remove();
      fresh = [];
    },
  };
}
