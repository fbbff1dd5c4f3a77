// Puts the page together: messages go to the store, and once a frame each part shows what has changed.

import { byId } from "./dom.js";
import { channels } from "./channels.js";
import { controls } from "./controls.js";
import { Figures } from "./figures.js";
import { force } from "./force.js";
import { functions } from "./functions.js";
import { head } from "./head.js";
import { forget_held, let_go } from "./hold.js";
import { keep } from "./keep.js";
import { Link } from "./link.js";
import { log } from "./log.js";
import { look } from "./look.js";
import { outputs } from "./outputs.js";
import { sensors } from "./sensors.js";
import { Store } from "./store.js";
import { supplies } from "./supplies.js";
import { timeline } from "./timeline.js";
import { trials } from "./trials.js";
import { trouble } from "./trouble.js";

/** @typedef {import("./messages").Message} Message */

/** Words and numbers are written anew so often. */
const READ_MS = 100;

const store = new Store();
const figures = new Figures();
const link = new Link(heard, changed);
const ask = (/** @type {string} */ what, /** @type {Record<string, unknown>} */ more) => link.ask(what, more);

look();
const forcing = force(store, ask);
const keeping = keep(store, ask);
const top = head(store, ask);
const journal = log();
const time = timeline(store);
const trying = trials(store, ask, keeping.sure);
const moved = controls(store, ask);
const felt = sensors(store, ask);
const acting = functions(store, (index) => forcing.choose(index));
const heard_of = channels(store);
const driven = outputs(store);
const fed = supplies(store);
/** What moves in every frame, and what is read, a few times a second. */
const moving = [heard_of, moved, acting, driven];
const read = [heard_of, moved, felt, acting, driven, fed];
const troubling = trouble(store, ask);
const able = [top, moved, felt, acting, forcing, troubling, trying, keeping];
const built = [top, ...read, troubling, trying, forcing];
let stale = false;
let read_ms = 0;

/** @param {Message} message */
function heard(message) {
  if (message.t === "rows") {
    store.take(message);
    journal.take(message);
    figures.heard(message);
    stale = true;
  } else if (message.t === "state") {
    store.state = message;
    if (message.link !== "up") let_go();
    for (const part of able) part.able();
  } else if (message.t === "answer") {
    link.answered(message);
  } else if (message.t === "ship") {
    forget_held();
    store.begin(message);
    for (const part of built) part.build(message);
    time.build();
  }
}

/**
 * @param {boolean} up
 * @param {string} why
 */
function changed(up, why) {
  if (!up) {
    let_go();
    forcing.lost();
  }
  byId("column-controls").classList.toggle("away", !up);
  top.linked(up, why);
}

/** @param {number} now_ms */
function frame(now_ms) {
  requestAnimationFrame(frame);
  const begun = performance.now();
  if ((stale || now_ms - read_ms >= READ_MS) && store.ship) {
    stale = false;
    for (const panel of moving) panel.update();
    store.seen();
    if (now_ms - read_ms >= READ_MS) {
      read_ms = now_ms;
      for (const panel of read) panel.write();
      store.read();
      journal.update();
    }
    time.update();
  }
  figures.frame(now_ms, performance.now() - begun);
}

link.open();
requestAnimationFrame(frame);
