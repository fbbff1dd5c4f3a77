// Numbers as people read them. What a ship says comes from the other side in its own words.

export const TICK_MS = 5;
export const TICKS_A_SECOND = 1000 / TICK_MS;

/**
 * @param {number} half_us
 * @returns {string} "1500.5 us"
 */
export function width(half_us) {
  return `${half_us % 2 ? (half_us / 2).toFixed(1) : half_us / 2} µs`;
}

/**
 * @param {number} ticks
 * @returns {string} "1.205 s"
 */
export function time(ticks) {
  return `${((ticks * TICK_MS) / 1000).toFixed(3)} s`;
}

/**
 * A time that runs, with as many digits as an eye can follow.
 * @param {number} ticks
 * @returns {string} "7.3 s", "2 min 5 s"
 */
export function left(ticks) {
  const tenths = Math.ceil((ticks * TICK_MS) / 100);
  if (tenths < 600) return `${(tenths / 10).toFixed(1)} s`;
  const seconds = Math.ceil(tenths / 10);
  return `${Math.floor(seconds / 60)} min ${seconds % 60} s`;
}

/**
 * @param {number} ma
 * @returns {string} "1.25 A", "80 mA"
 */
export function current(ma) {
  return ma >= 1000 ? `${(ma / 1000).toFixed(2)} A` : `${Math.round(ma)} mA`;
}

/**
 * @param {number} count
 * @returns {string} "1 234 567", with a narrow space
 */
export function many(count) {
  return String(count).replace(/\B(?=(\d{3})+$)/g, "\u202f");
}

/**
 * @param {number} count
 * @param {string} one
 * @param {string} [more]
 * @returns {string} "1 tick", "2 ticks"
 */
export function some(count, one, more = `${one}s`) {
  return `${many(count)} ${count === 1 ? one : more}`;
}
