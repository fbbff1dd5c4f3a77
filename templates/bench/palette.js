// The colours of colours.css, and the size of letters, for what is drawn on a canvas; read anew when
// day and night change, or the letters.

const NAMES = /** @type {const} */ ([
  "paper", "sheet", "ink", "quiet", "edge", "hair", "on", "on-ink", "band", "move", "needle",
  "caution-edge", "wrong-edge", "focus",
]);

/** @typedef {Record<typeof NAMES[number], string>} Palette */

/** How large letters are: times the usual. */
export const letters = { times: 1 };

/** @type {Palette} */
export const palette = read();

/** @type {(() => void)[]} */
const watchers = [];

/**
 * @param {() => void} watcher called when the colours have changed
 */
export function whenRepainted(watcher) {
  watchers.push(watcher);
}

/** Day or night was chosen by hand. */
export function repaint() {
  Object.assign(palette, read());
  for (const watcher of watchers) watcher();
}

matchMedia("(prefers-color-scheme: dark)").addEventListener("change", repaint);

/** @returns {Palette} */
function read() {
  const style = getComputedStyle(document.documentElement);
  letters.times = parseFloat(style.fontSize) / 16 || 1;
  const found = NAMES.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]);
  return /** @type {Palette} */ (Object.fromEntries(found));
}
