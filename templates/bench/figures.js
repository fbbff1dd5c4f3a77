// How quick the page is: for whoever measures it, and for nobody else. `benchFigures()` in the
// browser's console tells.

import { TICK_MS } from "./words.js";

const KEPT = 8192;

export class Figures {
  constructor() {
    this.frames = 0;
    this.messages = 0;
    this._since_ms = performance.now();
    this._last_ms = 0;
    this._longest_ms = 0;
    this._work_ms = 0;
    this._latency_ms = new Float32Array(KEPT);
    this._latencies = 0;
    /** When the pulses that are not painted yet came, on the clock of the bench. */
    this._came_ms = /** @type {number[]} */ ([]);
    this._painted = new MessageChannel();
    this._painted.port1.onmessage = () => this._after_paint();
    this._shown_ms = /** @type {number[]} */ ([]);
    Object.assign(globalThis, {
      benchFigures: () => this.told(),
      benchFiguresAnew: () => this.anew(),
    });
  }

  anew() {
    this.frames = this.messages = this._latencies = 0;
    this._longest_ms = this._work_ms = 0;
    this._since_ms = performance.now();
  }

  /** @param {import("./messages").Rows} rows */
  heard(rows) {
    this.messages += 1;
    if (rows.whole) return;
    for (const { k, p } of rows.rows) {
      if (p?.length && this._came_ms.length < KEPT) {
        this._came_ms.push(rows.at_ms - (rows.until - k) * TICK_MS);
      }
    }
  }

  /**
   * One frame was drawn.
   * @param {number} now_ms
   * @param {number} work_ms
   */
  frame(now_ms, work_ms) {
    this.frames += 1;
    this._work_ms += work_ms;
    if (this._last_ms) this._longest_ms = Math.max(this._longest_ms, now_ms - this._last_ms);
    this._last_ms = now_ms;
    if (!this._came_ms.length) return;
    this._shown_ms.push(...this._came_ms);
    this._came_ms.length = 0;
    // A message is delivered behind the painting of this frame.
    this._painted.port2.postMessage(0);
  }

  _after_paint() {
    const now = performance.timeOrigin + performance.now();
    for (const came of this._shown_ms) {
      this._latency_ms[this._latencies % KEPT] = now - came;
      this._latencies += 1;
    }
    this._shown_ms.length = 0;
  }

  /** @returns {Record<string, number>} */
  told() {
    const seconds = (performance.now() - this._since_ms) / 1000;
    const kept = [...this._latency_ms.subarray(0, Math.min(this._latencies, KEPT))].sort((a, b) => a - b);
    const at = (/** @type {number} */ share) => kept[Math.min(kept.length - 1, Math.floor(share * kept.length))] ?? NaN;
    const memory = /** @type {any} */ (performance).memory;
    return {
      seconds,
      frames_a_second: this.frames / seconds,
      messages_a_second: this.messages / seconds,
      longest_frame_ms: this._longest_ms,
      work_share: this._work_ms / 1000 / seconds,
      pulses: this._latencies,
      latency_median_ms: at(0.5),
      latency_p99_ms: at(0.99),
      heap_bytes: memory ? memory.usedJSHeapSize : NaN,
    };
  }
}
