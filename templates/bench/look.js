// How the page looks, chosen by hand: day or night, larger letters. The browser remembers it.

import { byId } from "./dom.js";
import { repaint } from "./palette.js";

export function look() {
  const root = document.documentElement;
  for (const id of ["light", "letters"]) {
    const choice = /** @type {HTMLSelectElement} */ (byId(id));
    const key = `pinrail-bench-${id}`;
    const apply = () => {
      if (choice.value) root.dataset[id] = choice.value;
      else delete root.dataset[id];
      repaint();
    };
    choice.value = localStorage.getItem(key) ?? "";
    apply();
    choice.addEventListener("change", () => {
      localStorage.setItem(key, choice.value);
      apply();
    });
  }
}
