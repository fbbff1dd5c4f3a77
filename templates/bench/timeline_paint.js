// Draws lanes column by column: when time goes on, what is there moves aside and only what is new is
// drawn. All in pixels of the screen, so that moving aside blurs nothing.

import { letters, palette } from "./palette.js";
import { word_at } from "./lanes.js";

/** @typedef {import("./lanes.js").Lane} Lane */
/** @typedef {import("./drawing.js").Drawing} Drawing */

/** @returns {number} in CSS pixels */
export const lane_height = () => Math.round(26 * letters.times);

/** @returns {number} in CSS pixels */
export const axis_height = () => Math.round(22 * letters.times);

/**
 * What is to be seen: ticks from `end - span` to `end` of some lanes, the first of which is `first`.
 * @typedef {object} View
 * @property {Lane[]} lanes
 * @property {number} first
 * @property {number} end a tick
 * @property {number} span in ticks
 * @property {number[]} marks ticks
 * @property {number | null} cursor a tick
 */

export class Painter {
  /** @param {Drawing} drawing */
  constructor(drawing) {
    this.drawing = drawing;
    this._end = NaN;
    /** @type {Map<string, string>} */
    this._short = new Map();
  }

  /** Everything has to be drawn anew. */
  forget() {
    this._end = NaN;
    this._short.clear();
  }

  /** Where the lanes begin and what is beside them, in CSS pixels. */
  get left() {
    return Math.min(210 * letters.times, Math.round(this.drawing.width * 0.3));
  }

  get right() {
    return Math.min(130 * letters.times, Math.round(this.drawing.width * 0.2));
  }

  get columns() {
    const { drawing } = this;
    return Math.max(1, Math.round((drawing.width - this.left - this.right) * drawing.scale));
  }

  /**
   * @param {View} view
   * @returns {number} how many ticks a column stands for
   */
  ticks_a_column(view) {
    return view.span / this.columns;
  }

  /**
   * The tick at an x of the canvas, in CSS pixels.
   * @param {View} view
   * @param {number} x
   * @returns {number}
   */
  tick_at(view, x) {
    const column = (x - this.left) * this.drawing.scale;
    const tick = view.end - view.span + column * this.ticks_a_column(view);
    return Math.round(Math.min(view.end, Math.max(view.end - view.span, tick)));
  }

  /**
   * Draws what has changed since it was asked last.
   * @param {View} view
   * @param {boolean} anew everything
   */
  paint(view, anew) {
    const { pen, width, height, scale } = this.drawing;
    if (width < 50 || height < axis_height()) return;
    const a_column = this.ticks_a_column(view);
    const end = Math.floor(view.end / a_column);
    const columns = this.columns;
    const moved = end - this._end;
    const whole = anew || !(moved >= 0 && moved < columns);
    if (!whole && moved === 0) return;
    this._end = end;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    const left = Math.round(this.left * scale);
    const tall = Math.round((height - axis_height()) * scale);
    if (!whole) {
      const rest = columns - moved;
      pen.drawImage(this.drawing.canvas, left + moved, 0, rest, tall, left, 0, rest, tall);
    }
    const from = whole ? 0 : columns - moved;
    pen.fillStyle = palette.sheet;
    if (whole) pen.fillRect(0, 0, this.drawing.canvas.width, this.drawing.canvas.height);
    else pen.fillRect(left + from, 0, columns - from, tall);
    const shown = Math.ceil(tall / (lane_height() * scale));
    this._seconds(end - columns + 1, from, left, tall, a_column);
    for (let row = 0; row < shown && view.first + row < view.lanes.length; row += 1) {
      const lane = view.lanes[view.first + row];
      const top = Math.round((row * lane_height() + 4) * scale);
      const deep = Math.min(Math.round((lane_height() - 8) * scale), tall - top);
      if (deep <= 0) break;
      this._lane(lane, end - columns + 1, from, columns, left, top, deep, a_column);
    }
    pen.setTransform(scale, 0, 0, scale, 0, 0);
    this._beside(view, shown, whole);
    this._axis(view);
    this._marks(view);
  }

  /**
   * @param {number} first the column of time at the left edge
   * @param {number} from
   * @param {number} left
   * @param {number} tall
   * @param {number} a_column
   */
  _seconds(first, from, left, tall, a_column) {
    const { pen } = this.drawing;
    const each = this._grid(a_column);
    pen.fillStyle = palette.hair;
    let tick = Math.ceil(((first + from) * a_column) / each) * each;
    for (; Math.floor(tick / a_column) < first + this.columns; tick += each) {
      pen.fillRect(left + Math.floor(tick / a_column) - first, 0, 1, tall);
    }
  }

  /**
   * The ticks between two lines of the grid: no closer than 70 pixels.
   * @param {number} a_column
   * @returns {number}
   */
  _grid(a_column) {
    const least = 70 * this.drawing.scale * a_column;
    return [20, 40, 100, 200, 400, 1000, 2000].find((ticks) => ticks >= least) ?? 4000;
  }

  /**
   * @param {Lane} lane
   * @param {number} first
   * @param {number} from
   * @param {number} columns
   * @param {number} left
   * @param {number} top
   * @param {number} deep
   * @param {number} a_column
   */
  _lane(lane, first, from, columns, left, top, deep, a_column) {
    const { scale } = this.drawing;
    const { ring } = lane;
    if (!ring.length) return;
    const thick = Math.max(1, Math.round(2 * scale));
    let index = Math.max(0, ring.at((first + from) * a_column));
    for (let column = from; column < columns; column += 1) {
      const until = (first + column + 1) * a_column;
      while (index + 1 < ring.length && ring.tick(index + 1) < until) {
        // What came and went within a column is seen too.
        this._piece(lane, ring.value(index), left + column, top, deep, thick);
        index += 1;
      }
      const tick = ring.tick(index);
      if (tick >= until || (lane.gap_ticks && until - tick > lane.gap_ticks)) continue;
      this._piece(lane, ring.value(index), left + column, top, deep, thick);
    }
  }

  /**
   * @param {Lane} lane
   * @param {number} value
   * @param {number} x
   * @param {number} top
   * @param {number} deep
   * @param {number} thick
   */
  _piece(lane, value, x, top, deep, thick) {
    const { pen } = this.drawing;
    if (lane.kind === "width") {
      const share = Math.min(1, Math.max(0, (value - lane.low) / (lane.high - lane.low || 1)));
      pen.fillStyle = palette.needle;
      pen.fillRect(x, top + Math.round((1 - share) * (deep - thick)), 1, thick);
    } else if (value <= 0) {
      pen.fillStyle = palette.edge;
      pen.fillRect(x, top + deep - thick, 1, thick);
    } else {
      const step = deep / lane.high;
      const place = Math.min(value, lane.high);
      pen.fillStyle = palette.on;
      pen.fillRect(x, top + Math.round(deep - place * step), 1, Math.max(thick, Math.round(step)));
    }
  }

  /**
   * Names at the left, what is so at the right.
   * @param {View} view
   * @param {number} shown
   * @param {boolean} names
   */
  _beside(view, shown, names) {
    const { pen, width, height } = this.drawing;
    const right = width - this.right;
    pen.fillStyle = palette.sheet;
    pen.fillRect(right, 0, this.right, height - axis_height());
    pen.textBaseline = "middle";
    pen.textAlign = "left";
    for (let row = 0; row < shown && view.first + row < view.lanes.length; row += 1) {
      const lane = view.lanes[view.first + row];
      const middle = (row + 0.5) * lane_height();
      if (middle > height - axis_height()) break;
      pen.fillStyle = palette.ink;
      if (names) {
        pen.font = this._font(600);
        pen.fillText(this._fit(lane.name, this.left - 22), 11, middle);
        pen.fillStyle = palette.hair;
        pen.fillRect(0, (row + 1) * lane_height() - 1, this.left, 1);
        pen.fillStyle = palette.ink;
      }
      pen.font = this._font(400);
      const word = word_at(lane, view.cursor ?? view.end);
      pen.fillText(this._fit(word, this.right - 12), right + 8, middle);
    }
  }

  /** @param {View} view */
  _axis(view) {
    const { pen, width, height, scale } = this.drawing;
    const top = height - axis_height();
    pen.fillStyle = palette.sheet;
    pen.fillRect(0, top, width, axis_height());
    pen.fillStyle = palette.ink;
    pen.fillRect(this.left, top, width - this.left - this.right, 2);
    pen.font = this._font(400);
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    const a_column = this.ticks_a_column(view);
    const each = this._grid(a_column);
    const start = view.end - view.span;
    for (let tick = Math.ceil(start / each) * each; tick <= view.end; tick += each) {
      if (tick < 0) continue;
      const x = this.left + (tick - start) / a_column / scale;
      if (x < this.left + 20 || x > width - this.right - 20) continue;
      pen.fillText(`${Number((tick / 200).toFixed(1))} s`, x, top + axis_height() / 2 + 1);
    }
  }

  /** @param {View} view */
  _marks(view) {
    const { pen, height, scale } = this.drawing;
    const a_column = this.ticks_a_column(view);
    const place = (/** @type {number} */ tick) =>
      Math.round(this.left + (tick - view.end + view.span) / a_column / scale);
    view.marks.forEach((tick, index) => {
      if (tick < view.end - view.span || tick > view.end) return;
      pen.fillStyle = palette.focus;
      pen.fillRect(place(tick) - 1, 0, 2, height - axis_height());
      pen.font = this._font(700);
      pen.textAlign = "left";
      pen.textBaseline = "top";
      pen.fillText(index ? "B" : "A", place(tick) + 4, 2);
    });
    if (view.cursor !== null) {
      pen.fillStyle = palette.ink;
      for (let y = 0; y < height - axis_height(); y += 6) pen.fillRect(place(view.cursor), y, 1, 3);
    }
  }

  /**
   * @param {number} weight
   * @returns {string}
   */
  _font(weight) {
    return `${weight} ${14 * letters.times}px "Liberation Sans", Arial, Helvetica, sans-serif`;
  }

  /**
   * A text that is no wider than there is room.
   * @param {string} text
   * @param {number} room
   * @returns {string}
   */
  _fit(text, room) {
    const { pen } = this.drawing;
    const key = `${room} ${pen.font} ${text}`;
    const known = this._short.get(key);
    if (known !== undefined) return known;
    let short = text;
    if (pen.measureText(text).width > room) {
      let count = Math.min(text.length, 200);
      while (count > 1 && pen.measureText(`${text.slice(0, count)}…`).width > room) count -= 1;
      short = `${text.slice(0, count)}…`;
    }
    if (this._short.size > 4000) this._short.clear();
    this._short.set(key, short);
    return short;
  }
}
