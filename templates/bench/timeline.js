// The last minute as it runs; stopped, it is scrolled and measured.

import { Drawing } from "./drawing.js";
import { buttonById, byId, mark, say } from "./dom.js";
import { frozen, nearest_change, word_at } from "./lanes.js";
import { whenRepainted } from "./palette.js";
import { Painter, axis_height, lane_height } from "./timeline_paint.js";
import { TICKS_A_SECOND, some, time } from "./words.js";

/** @typedef {import("./store.js").Store} Store */
/** @typedef {import("./lanes.js").Lane} Lane */

/** A click this near to a change, in CSS pixels, means the change. */
const REACH = 8;

/**
 * @param {Store} store
 * @returns {{build(): void, update(): void, dispose?: never}}
 */
export function timeline(store) {
  const scroller = byId("lanes");
  const tall = byId("lanes-tall");
  const measured = byId("measured");
  const stop = buttonById("time-stop");
  const group = /** @type {HTMLSelectElement} */ (byId("time-group"));
  const span = /** @type {HTMLSelectElement} */ (byId("time-span"));
  const canvas = /** @type {HTMLCanvasElement} */ (byId("lanes-canvas"));

  /** @type {import("./timeline_paint.js").View} */
  const view = { lanes: [], first: 0, end: 0, span: 12000, marks: [], cursor: null };
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  let anew = true;
  let stopped = false;
  /** What was so when it was stopped, and its last tick. */
  let still = /** @type {Lane[]} */ ([]);
  let newest = 0;
  let oldest = 0;

  const drawing = new Drawing(canvas, () => {
    painter.forget();
    anew = true;
    paint();
  });
  const painter = new Painter(drawing);
  whenRepainted(() => {
    painter.forget();
    choose();
  });

  const paint = () => {
    painter.paint(view, anew);
    anew = false;
  };
  const draw_anew = () => {
    anew = true;
    paint();
  };

  const choose = () => {
    const from = stopped ? still : store.lanes;
    view.lanes = from.filter((lane) => lane.group === group.value);
    tall.style.setProperty("height", `${Math.max(0, view.lanes.length * lane_height() + axis_height() - scroller.clientHeight)}px`);
    view.first = Math.min(view.first, Math.max(0, view.lanes.length - 1));
    draw_anew();
  };

  const measure = () => {
    if (!stopped) return say(measured, "Stop it to scroll and to measure.");
    const [a, b] = view.marks;
    if (a === undefined) {
      const at = view.cursor === null ? "" : ` At ${time(view.cursor)}.`;
      return say(measured, `Put mark A with a click or Enter; arrow keys move.${at}`);
    }
    if (b === undefined) {
      const off = view.cursor === null ? "" : ` ${time(Math.abs(view.cursor - a))} from here.`;
      return say(measured, `A at ${time(a)}.${off} Now mark B.`);
    }
    const ticks = Math.abs(b - a);
    say(measured, `A ${time(a)}, B ${time(b)}: ${time(ticks)} between them, ${some(ticks, "tick")}.`);
  };

  const set_stopped = (/** @type {boolean} */ is) => {
    stopped = is;
    mark(stop, "aria-pressed", String(is));
    say(stop, is ? "Go on" : "Stop");
    view.marks = [];
    view.cursor = null;
    still = is ? store.lanes.map(frozen) : [];
    newest = store.until;
    oldest = Math.max(0, newest - 12000);
    view.end = newest;
    choose();
    measure();
  };

  const look_at = (/** @type {number} */ end) => {
    view.end = Math.round(Math.min(newest, Math.max(Math.min(newest, oldest + view.span), end)));
    draw_anew();
  };

  const put = (/** @type {number} */ tick) => {
    if (view.marks.length >= 2) view.marks = [];
    view.marks.push(tick);
    measure();
    draw_anew();
  };

  const move_cursor = (/** @type {number} */ tick) => {
    view.cursor = Math.round(Math.min(newest, Math.max(oldest, tick)));
    const start = view.end - view.span;
    if (view.cursor > view.end) look_at(view.cursor);
    else if (view.cursor < start) look_at(view.cursor + view.span);
    measure();
    draw_anew();
  };

  stop.addEventListener("click", () => set_stopped(!stopped));
  group.addEventListener("change", () => {
    scroller.scrollTop = view.first = 0;
    choose();
  });
  span.addEventListener("change", () => {
    const middle = view.cursor ?? view.end - view.span / 2;
    view.span = Number(span.value);
    if (stopped) look_at(middle + view.span / 2);
    else draw_anew();
  });
  scroller.addEventListener("scroll", () => {
    view.first = Math.round(scroller.scrollTop / lane_height());
    draw_anew();
  });

  // --- Measured with a pointer: a click puts a mark, a pull scrolls.
  let pulled_from = /** @type {{x: number, end: number} | null} */ (null);
  let pulled = false;
  canvas.addEventListener("pointerdown", (event) => {
    if (!stopped || event.button !== 0) return;
    canvas.setPointerCapture(event.pointerId);
    pulled_from = { x: event.offsetX, end: view.end };
    pulled = false;
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!stopped) return;
    if (pulled_from) {
      const away = event.offsetX - pulled_from.x;
      if (Math.abs(away) > 5) pulled = true;
      if (pulled) look_at(pulled_from.end - away * drawing.scale * painter.ticks_a_column(view));
      return;
    }
    view.cursor = painter.tick_at(view, event.offsetX);
    measure();
    draw_anew();
  });
  canvas.addEventListener("pointercancel", () => (pulled_from = null));
  canvas.addEventListener("pointerup", (event) => {
    if (!pulled_from) return;
    pulled_from = null;
    if (pulled) return;
    const tick = painter.tick_at(view, event.offsetX);
    const lane = view.lanes[view.first + Math.floor(event.offsetY / lane_height())];
    const reach = Math.ceil(REACH * drawing.scale * painter.ticks_a_column(view));
    put(lane ? nearest_change(lane, tick, reach) : tick);
  });

  // --- And with keys.
  scroller.addEventListener("keydown", (event) => {
    if (!stopped || event.target !== scroller) return;
    const step = (event.shiftKey ? 10 : 1) * Math.max(1, Math.round(painter.ticks_a_column(view)));
    const at = view.cursor ?? view.end - Math.round(view.span / 2);
    if (event.key === "ArrowLeft") move_cursor(at - step);
    else if (event.key === "ArrowRight") move_cursor(at + step);
    else if (event.key === "Home") move_cursor(oldest);
    else if (event.key === "End") move_cursor(newest);
    else if (event.key === "Enter") put(at);
    else if (event.key === "Escape") {
      view.marks = [];
      measure();
      draw_anew();
    } else return;
    event.preventDefault();
    const lane = view.lanes[view.first];
    scroller.title = lane && view.cursor !== null ? `${lane.name}: ${word_at(lane, view.cursor)}` : "";
  });

  return {
    build() {
      if (stopped) return;
      choose();
      measure();
    },
    update() {
      if (stopped) return;
      // Who wants no motion sees it go on by a second at a time.
      const step = calm.matches ? TICKS_A_SECOND : 1;
      view.end = Math.floor(store.until / step) * step;
      paint();
    },
  };
}
