// Things that act for as long as they are held, and by nothing else: a finger, a mouse button or a key.
// Everything that is held lets go at once when its hand may have gone: the pointer is lost, the focus
// moves on, the window or the page is left, the link is gone.

/** @type {Set<() => void>} */
const held = new Set();

/** @type {Set<() => void>} */
const others = new Set();

/** Everything lets go. */
export function let_go() {
  for (const end of [...held, ...others]) end();
}

/**
 * @param {() => void} end called when everything lets go, held or not
 */
export function when_let_go(end) {
  others.add(end);
}

/** The ship file was read anew: what was held is no more. */
export function forget_held() {
  let_go();
  others.clear();
}

/**
 * @param {HTMLButtonElement} button
 * @param {() => void} begin
 * @param {() => void} end called once for each begin
 * @returns {() => void} lets go of this one
 */
export function hold(button, begin, end) {
  /** What holds it: a pointer by its number, a key by its name. */
  let by = /** @type {number | string | null} */ (null);

  const finish = () => {
    if (by === null) return;
    by = null;
    held.delete(finish);
    delete button.dataset.held;
    end();
  };
  const start = (/** @type {number | string} */ who) => {
    if (by !== null || button.disabled) return;
    by = who;
    held.add(finish);
    button.dataset.held = "";
    begin();
  };
  const pointer_gone = (/** @type {PointerEvent} */ event) => {
    if (event.pointerId === by) finish();
  };

  button.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    button.setPointerCapture(event.pointerId);
    start(event.pointerId);
  });
  button.addEventListener("pointerup", pointer_gone);
  button.addEventListener("pointercancel", pointer_gone);
  button.addEventListener("lostpointercapture", pointer_gone);
  button.addEventListener("keydown", (event) => {
    if (event.key !== " " && event.key !== "Enter") return;
    event.preventDefault();
    if (!event.repeat) start(event.key);
  });
  button.addEventListener("keyup", (event) => {
    if (event.key !== " " && event.key !== "Enter") return;
    event.preventDefault();
    if (event.key === by) finish();
  });
  button.addEventListener("blur", finish);
  button.addEventListener("contextmenu", (event) => event.preventDefault());
  return finish;
}

addEventListener("blur", let_go);
addEventListener("pagehide", let_go);
addEventListener("beforeunload", let_go);
document.addEventListener("freeze", let_go);
document.addEventListener("visibilitychange", () => {
  if (document.hidden) let_go();
});
