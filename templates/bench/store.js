// What is known of the ship: how it is made, how it stands, and the last minute of it. Messages change
// it; panels look, once a frame, at what has changed.

import { state_lane, width_lane } from "./lanes.js";
import { in_file_order } from "./order.js";
import { width } from "./words.js";

/** @typedef {import("./messages").Ship} Ship */
/** @typedef {import("./messages").State} State */
/** @typedef {import("./messages").Rows} Rows */
/** @typedef {import("./messages").Row} Row */
/** @typedef {import("./messages").Count} Count */
/** @typedef {import("./lanes.js").Lane} Lane */

export const NOWHERE = 255;
export const NEVER = 0;
export const ALIVE = 1;
export const LOST = 2;

/** A channel draws nothing on the timeline after so long without a pulse. */
const GAP_TICKS = 40;

/** The parts whose changes are noted, each by its index. */
const PARTS = /** @type {const} */ ([
  "channels", "controls", "functions", "counts", "lines", "servos", "lights", "sensors", "supplies",
]);

/** @typedef {Record<typeof PARTS[number], Set<number>>} Changes */

/** @returns {Changes} */
function nothing() {
  return /** @type {any} */ (Object.fromEntries(PARTS.map((part) => [part, new Set()])));
}

export class Store {
  constructor() {
    /** @type {Ship | null} */
    this.ship = null;
    /** @type {State | null} */
    this.state = null;
    /** The first tick that is not known yet. */
    this.until = 0;
    /** When that was told, by `performance.now()`. */
    this.told_ms = 0;
    /** What has changed since the last frame. */
    this.changed = nothing();
    /** What has changed since words were written anew, which is less often: nobody reads faster. */
    this.unread = nothing();
    this.half_us = /** @type {number[]} */ ([]);
    /** The last pulse of each slot of a shared channel, its marker first. */
    this.slots_half_us = /** @type {number[][]} */ ([]);
    this.signal = /** @type {number[]} */ ([]);
    this.bad = /** @type {number[]} */ ([]);
    this.positions = /** @type {number[]} */ ([]);
    this.values_half_us = /** @type {number[]} */ ([]);
    this.armed = /** @type {boolean[]} */ ([]);
    this.states = /** @type {number[]} */ ([]);
    this.counts = /** @type {Count[][]} */ ([]);
    this.lines = /** @type {number[]} */ ([]);
    this.servos_half_us = /** @type {number[]} */ ([]);
    this.lights = /** @type {number[]} */ ([]);
    this.readings = /** @type {number[]} */ ([]);
    this.supplies_ma = /** @type {number[]} */ ([]);
    /** @type {number | null} the function that is forced now */
    this.forced = null;
    this.lanes = /** @type {Lane[]} */ ([]);
    /** @type {Map<string, Lane>} by what it is and its index: "f3" */
    this._lane_of = new Map();
  }

  /** @param {Ship} ship as the file has it now: everything begins anew */
  begin(ship) {
    this.ship = ship;
    this.seen();
    this.read();
    const { channels, controls, functions, sensors, supplies } = ship;
    this.half_us = channels.map(() => 0);
    this.slots_half_us = channels.map((one) => new Array(one.slots ? one.slots + 1 : 0).fill(0));
    this.signal = channels.map(() => NEVER);
    this.bad = channels.map(() => 0);
    this.positions = controls.map(() => NOWHERE);
    this.values_half_us = controls.map(() => 0);
    this.armed = controls.map(() => false);
    this.states = functions.map(() => 0);
    this.counts = functions.map(() => []);
    this.lines = [];
    this.servos_half_us = [];
    this.lights = [];
    for (const output of ship.outputs) {
      if (output.kind === "line") this.lines[output.index] = 0;
      else if (output.kind === "servo") {
        this.servos_half_us[output.index] = output.rest_half_us ?? 3000;
      } else this.lights[output.index] = 0;
    }
    this.readings = sensors.map((one) => one.rest);
    this.supplies_ma = supplies.map(() => 0);
    this.forced = null;
    this._lay_lanes(ship);
  }

  /** @param {Rows} rows */
  take(rows) {
    if (!this.ship) return;
    if (rows.whole) {
      for (const lane of this.lanes) {
        // A tick that is told twice, or a bench that was started anew.
        const { ring } = lane;
        if (ring.length && ring.tick(ring.length - 1) > rows.until) ring.clear();
      }
      this.counts.forEach((_, index) => {
        this.counts[index] = [];
        this._touch("counts", index);
      });
      this.forced = null;
    }
    for (const row of rows.rows) this._row(row);
    for (const [index, counts] of rows.now?.f ?? []) {
      this.counts[index] = counts;
      this._touch("counts", index);
    }
    for (const [index, ma] of rows.now?.a ?? []) {
      this.supplies_ma[index] = ma;
      this._touch("supplies", index);
    }
    this.until = rows.until;
    this.told_ms = performance.now();
  }

  /**
   * The last pulse that a control was told; 0 before there was one.
   * @param {number} index
   * @returns {number} in half microseconds
   */
  pulse_of(index) {
    const control = this.ship?.controls[index];
    if (!control) return 0;
    if (!control.slot) return this.half_us[control.channel];
    return this.slots_half_us[control.channel][control.slot] ?? 0;
  }

  /** All changes have been shown. */
  seen() {
    for (const part of PARTS) this.changed[part].clear();
  }

  /** All words have been written. */
  read() {
    for (const part of PARTS) this.unread[part].clear();
  }

  /**
   * @param {typeof PARTS[number]} part
   * @param {number} index
   */
  _touch(part, index) {
    this.changed[part].add(index);
    this.unread[part].add(index);
  }

  /** @param {Row} row */
  _row(row) {
    for (const [index, half_us, slot] of row.p ?? []) {
      this.half_us[index] = half_us;
      if (slot) {
        const place = slot > 0 ? slot : 0;
        if (slot >= -1 && place < this.slots_half_us[index].length) {
          this.slots_half_us[index][place] = half_us;
        }
      }
      this._touch("channels", index);
      this._note("p", index, row.k, half_us);
    }
    for (const [index, signal, bad] of row.g ?? []) {
      this.signal[index] = signal;
      this.bad[index] = bad;
      this._touch("channels", index);
    }
    for (const [index, position, value_half_us, armed] of row.c ?? []) {
      this.positions[index] = position;
      this.values_half_us[index] = value_half_us;
      this.armed[index] = Boolean(armed);
      this._touch("controls", index);
    }
    for (const [index, state] of row.f ?? []) {
      this.states[index] = state;
      this._touch("functions", index);
      this._note("f", index, row.k, state);
    }
    for (const [index, on] of row.x ?? []) {
      this.lines[index] = on;
      this._touch("lines", index);
      this._note("x", index, row.k, on);
    }
    for (const [index, half_us] of row.s ?? []) {
      this.servos_half_us[index] = half_us;
      this._touch("servos", index);
      this._note("s", index, row.k, half_us);
    }
    for (const [index, duty] of row.u ?? []) {
      this.lights[index] = duty;
      this._touch("lights", index);
      this._note("u", index, row.k, duty);
    }
    for (const [index, reading] of row.r ?? []) {
      this.readings[index] = reading;
      this._touch("sensors", index);
    }
    if (row.w) {
      if (this.forced !== null) this._touch("functions", this.forced);
      this.forced = row.w.length ? row.w[0] : null;
      if (this.forced !== null) this._touch("functions", this.forced);
    }
  }

  /** @param {Ship} ship */
  _lay_lanes(ship) {
    const old = this._lane_of;
    this._lane_of = new Map();
    /** @type {{element: Lane}[]} */
    const lanes = [];
    /** @type {{line?: number}[]} */
    const things = [];
    const add = (/** @type {string} */ key, /** @type {{line?: number}} */ thing, /** @type {Lane} */ lane) => {
      // What a lane has shown is still true when the file was saved anew.
      const before = old.get(key);
      if (before && before.name === lane.name && before.kind === lane.kind) lane.ring = before.ring;
      this._lane_of.set(key, lane);
      lanes.push({ element: lane });
      things.push(thing);
    };
    ship.functions.forEach((one, index) => {
      add(`f${index}`, one, state_lane("functions", one.name, one.states));
    });
    ship.channels.forEach((one, index) => {
      const [low, high] = one.valid_half_us;
      add(`p${index}`, one, width_lane("channels", one.name, low, high, GAP_TICKS, width));
    });
    for (const one of ship.outputs) {
      if (one.kind === "line") {
        add(`x${one.index}`, one, state_lane("outputs", one.name, ["off", "on"]));
      } else if (one.kind === "servo") {
        const [low, high] = one.range_half_us ?? [1600, 4400];
        add(`s${one.index}`, one, width_lane("outputs", one.name, low, high, 0, width));
      } else {
        add(`u${one.index}`, one, width_lane("outputs", one.name, 0, 255, 0, duty));
      }
    }
    this.lanes = in_file_order(things, lanes);
  }

  /**
   * @param {string} kind
   * @param {number} index
   * @param {number} tick
   * @param {number} value
   */
  _note(kind, index, tick, value) {
    this._lane_of.get(kind + index)?.ring.push(tick, value);
  }
}

/**
 * @param {number} of_255
 * @returns {string} a light's duty in words
 */
export function duty(of_255) {
  if (of_255 <= 0) return "off";
  return of_255 >= 255 ? "on, full" : `${Math.max(1, Math.round((of_255 * 100) / 255))} % duty`;
}
