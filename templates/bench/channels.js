// The channels: the pulse that came last, in the bands of its control.

import { Drawing } from "./drawing.js";
import { byId, make, mark, say } from "./dom.js";
import { in_file_order } from "./order.js";
import { letters, palette, whenRepainted } from "./palette.js";
import { ALIVE, LOST, NOWHERE } from "./store.js";
import { width } from "./words.js";

/** @typedef {import("./store.js").Store} Store */
/** @typedef {import("./messages").Channel} Channel */
/** @typedef {import("./messages").Ship} Ship */

class Strip {
  /**
   * @param {Store} store
   * @param {Ship} ship
   * @param {number} index
   */
  constructor(store, ship, index) {
    this.store = store;
    this.ship = ship;
    this.index = index;
    this.channel = ship.channels[index];
    const { name, pin, slots } = this.channel;
    this.number = make("span", { class: "number" });
    this.canvas = make("canvas", { "aria-hidden": true });
    const shared = slots ? `, ${slots} slots in turn` : "";
    this.element = make(
      "li",
      { class: "row channel" },
      make(
        "header",
        {},
        make("span", {}, make("span", { class: "name", text: name }), " ",
          make("span", { class: "quiet", text: `${pin}${shared}` })),
        this.number,
      ),
      this.canvas,
    );
    /** What does not move from pulse to pulse, drawn once. */
    this.still = document.createElement("canvas");
    this._still_of = NaN;
    this.drawing = new Drawing(this.canvas, () => this.paint(true));
  }

  write() {
    const { store, index } = this;
    const signal = store.signal[index];
    const half_us = store.half_us[index];
    mark(this.element, "data-signal", String(signal));
    const bad = store.bad[index] ? `, ${store.bad[index]} bad` : "";
    if (signal === LOST) say(this.number, `▲ lost${bad}`);
    else if (signal !== ALIVE && !half_us) say(this.number, "not heard yet");
    else say(this.number, `${width(half_us)}${bad}`);
  }

  /** @param {boolean} anew */
  paint(anew = false) {
    const { store, index } = this;
    const signal = store.signal[index];
    const half_us = store.half_us[index];
    if (!this.drawing.width) return;
    const position = this.own < 0 ? NOWHERE : store.positions[this.own];
    if (anew || position !== this._still_of) {
      this._still_of = position;
      this._draw_still(position);
    }
    const { pen, height, scale } = this.drawing;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.drawImage(this.still, 0, 0);
    pen.setTransform(scale, 0, 0, scale, 0, 0);
    pen.fillStyle = signal === LOST ? palette.edge : palette.needle;
    if (this.channel.slots) this._slots();
    else if (half_us) pen.fillRect(this.x(half_us) - 2, 0, 4, height);
  }

  /** The first control that has this channel for itself; -1 if there is none. */
  get own() {
    const own = this.channel.controls.find((one) => this.ship.controls[one].slot === 0);
    return own ?? -1;
  }

  /**
   * @param {number} half_us
   * @returns {number} where that is on the strip
   */
  x(half_us) {
    const [low, high] = this.channel.valid_half_us;
    const share = Math.min(1, Math.max(0, (half_us - low) / (high - low)));
    return 2 + share * (this.drawing.width - 4);
  }

  _slots() {
    const { pen, width: wide, height } = this.drawing;
    const pulses = this.store.slots_half_us[this.index];
    const [low, high] = this.channel.valid_half_us;
    const cell = wide / pulses.length;
    pulses.forEach((half_us, slot) => {
      if (!half_us) return;
      const share = Math.min(1, Math.max(0, (half_us - low) / (high - low)));
      pen.fillRect(slot * cell + cell * 0.45, (1 - share) * (height - 3), cell * 0.5, 3);
    });
  }

  /** @param {number} position */
  _draw_still(position) {
    const { drawing, still, ship } = this;
    still.width = drawing.canvas.width;
    still.height = drawing.canvas.height;
    const pen = /** @type {CanvasRenderingContext2D} */ (still.getContext("2d"));
    pen.setTransform(drawing.scale, 0, 0, drawing.scale, 0, 0);
    pen.fillStyle = palette.paper;
    pen.fillRect(0, 0, drawing.width, drawing.height);
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    const font = (/** @type {number} */ weight) =>
      `${weight} ${13 * letters.times}px "Liberation Sans", Arial, Helvetica, sans-serif`;
    if (this.channel.slots) {
      const count = this.channel.slots + 1;
      const cell = drawing.width / count;
      for (let slot = 0; slot < count; slot += 1) {
        pen.fillStyle = palette.band;
        pen.fillRect(slot * cell + 1, 0, cell - 2, drawing.height);
        pen.fillStyle = palette.quiet;
        pen.font = font(400);
        pen.fillText(slot ? String(slot) : "M", slot * cell + cell * 0.24, drawing.height / 2, cell * 0.45);
      }
      return;
    }
    const control = ship.controls[this.own];
    if (!control) return;
    if (control.proportional) {
      const [low, high] = control.ends_half_us;
      pen.fillStyle = palette.band;
      pen.fillRect(this.x(low), 4, this.x(high) - this.x(low), drawing.height - 8);
      return;
    }
    control.positions.forEach((band, index) => {
      const left = this.x(band.low_half_us);
      const wide = this.x(band.high_half_us) - left;
      const here = index === position;
      pen.fillStyle = palette.band;
      pen.fillRect(left, 0, wide, drawing.height);
      if (here) {
        pen.fillStyle = palette.on;
        pen.fillRect(left, drawing.height - 4, wide, 4);
      }
      pen.font = font(here ? 700 : 400);
      pen.fillStyle = palette.ink;
      // A narrow band's word may reach half way to its neighbours, and be drawn a little narrower.
      const before = control.positions[index - 1];
      const behind = control.positions[index + 1];
      const middle = left + wide / 2;
      const from = before ? (this.x(before.high_half_us) + left) / 2 : 0;
      const until = behind ? (this.x(behind.low_half_us) + left + wide) / 2 : drawing.width;
      const room = 2 * Math.min(middle - from, until - middle) - 3;
      if (pen.measureText(band.name).width <= room * 1.4) {
        pen.fillText(band.name, middle, drawing.height / 2, room);
      }
    });
  }
}

/**
 * @param {Store} store
 * @returns {{build(ship: Ship): void, update(): void, write(): void}}
 */
export function channels(store) {
  const list = /** @type {HTMLElement} */ (byId("channels").querySelector("ul"));
  /** @type {Strip[]} */
  let strips = [];
  whenRepainted(() => strips.forEach((strip) => strip.paint(true)));
  return {
    build(ship) {
      strips = ship.channels.map((_, index) => new Strip(store, ship, index));
      list.replaceChildren(...in_file_order(ship.channels, strips));
      for (const strip of strips) {
        strip.write();
        strip.paint();
      }
    },
    update() {
      const dirty = new Set(store.changed.channels);
      for (const control of store.changed.controls) {
        dirty.add(/** @type {Ship} */ (store.ship).controls[control].channel);
      }
      for (const index of dirty) strips[index].paint();
    },
    write() {
      for (const index of store.unread.channels) strips[index].write();
    },
  };
}
