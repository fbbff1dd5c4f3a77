// The last minute, a lane for each channel, function and output; what the timeline draws.

import { Ring } from "./ring.js";

/** Twice the minute that is shown, for a channel with 50 pulses a second. */
const KEPT_PULSES = 6000;
const KEPT_STATES = 1024;

/**
 * One row of the timeline. A "width" lane has a place between low and high, a "state" lane one of
 * some words, of which the first is rest.
 * @typedef {object} Lane
 * @property {"channels" | "functions" | "outputs"} group
 * @property {"width" | "state"} kind
 * @property {string} name
 * @property {number} low
 * @property {number} high
 * @property {number} gap_ticks after so long without a pulse there is nothing to draw; 0: a value
 *   holds until the next one
 * @property {(value: number) => string} word
 * @property {Ring} ring
 */

/**
 * @param {Lane["group"]} group
 * @param {string} name
 * @param {number} low
 * @param {number} high
 * @param {number} gap_ticks
 * @param {(value: number) => string} word
 * @returns {Lane}
 */
export function width_lane(group, name, low, high, gap_ticks, word) {
  const ring = new Ring(KEPT_PULSES);
  return { group, kind: "width", name, low, high, gap_ticks, word, ring };
}

/**
 * @param {Lane["group"]} group
 * @param {string} name
 * @param {string[]} words
 * @returns {Lane}
 */
export function state_lane(group, name, words) {
  const ring = new Ring(KEPT_STATES);
  const word = (/** @type {number} */ value) => words[value] ?? "in between";
  const high = Math.max(1, words.length - 1);
  return { group, kind: "state", name, low: 0, high, gap_ticks: 0, word, ring };
}

/**
 * What was so at a tick, in words; "" where nobody knows.
 * @param {Lane} lane
 * @param {number} tick
 * @returns {string}
 */
export function word_at(lane, tick) {
  const index = lane.ring.at(tick);
  if (index < 0) return "";
  if (lane.gap_ticks && tick - lane.ring.tick(index) > lane.gap_ticks) return "no pulse";
  return lane.word(lane.ring.value(index));
}

/**
 * @param {Lane} lane
 * @returns {Lane} as it is now
 */
export function frozen(lane) {
  return { ...lane, ring: lane.ring.copy() };
}

/**
 * The change nearest to a tick, no further away than reach; the tick itself where there is none.
 * @param {Lane} lane
 * @param {number} tick
 * @param {number} reach_ticks
 * @returns {number}
 */
export function nearest_change(lane, tick, reach_ticks) {
  const before = lane.ring.at(tick);
  let best = tick;
  let best_away = reach_ticks + 1;
  for (const index of [before, before + 1]) {
    if (index < 0 || index >= lane.ring.length) continue;
    const away = Math.abs(lane.ring.tick(index) - tick);
    if (away < best_away) [best, best_away] = [lane.ring.tick(index), away];
  }
  return best;
}
