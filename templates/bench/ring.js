// What happened last, in memory that never grows: the oldest makes room for the newest.

/** Changes of one value, each with its tick. */
export class Ring {
  /**
   * @param {number} capacity how many changes are kept
   */
  constructor(capacity) {
    this.capacity = capacity;
    /** How many are kept now. */
    this.length = 0;
    this._ticks = new Float64Array(capacity);
    this._values = new Int32Array(capacity);
    this._next = 0;
  }

  /**
   * @param {number} tick not before the last one
   * @param {number} value
   */
  push(tick, value) {
    this._ticks[this._next] = tick;
    this._values[this._next] = value;
    this._next = (this._next + 1) % this.capacity;
    if (this.length < this.capacity) this.length += 1;
  }

  clear() {
    this.length = 0;
  }

  /**
   * @param {number} index 0 is the oldest
   * @returns {number}
   */
  tick(index) {
    return this._ticks[this._place(index)];
  }

  /**
   * @param {number} index 0 is the oldest
   * @returns {number}
   */
  value(index) {
    return this._values[this._place(index)];
  }

  /**
   * The index of the last change at or before a tick; -1 where that is older than all that is kept.
   * @param {number} tick
   * @returns {number}
   */
  at(tick) {
    let low = 0;
    let high = this.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.tick(middle) <= tick) low = middle + 1;
      else high = middle;
    }
    return low - 1;
  }

  /** @returns {Ring} as it is now, for someone who wants to look at it for a while */
  copy() {
    const copy = new Ring(this.capacity);
    copy.length = this.length;
    copy._next = this._next;
    copy._ticks.set(this._ticks);
    copy._values.set(this._values);
    return copy;
  }

  /**
   * @param {number} index
   * @returns {number}
   */
  _place(index) {
    return (this._next - this.length + index + 2 * this.capacity) % this.capacity;
  }
}
