// The page's end of the bench: one socket, opened again when it is lost, and answers to what was asked.

/** @typedef {import("./messages").Message} Message */
/** @typedef {import("./messages").Answer} Answer */

const TOKEN = "pinrail-bench-token";
const AGAIN_MS = 1000;

/** @returns {string} what only the address that was printed has; "" if this is not that one */
function token() {
  const given = location.hash.slice(1);
  // It may also be a part of the page that someone has jumped to.
  if (given && !document.getElementById(given)) {
    sessionStorage.setItem(TOKEN, given);
    history.replaceState(null, "", location.pathname);
  }
  return sessionStorage.getItem(TOKEN) ?? "";
}

export class Link {
  /**
   * @param {(message: Message) => void} heard
   * @param {(up: boolean, why: string) => void} changed the link is up, or gone and why
   */
  constructor(heard, changed) {
    this.up = false;
    this._heard = heard;
    this._changed = changed;
    this._token = token();
    this._id = 0;
    /** @type {Map<number, (answer: Answer) => void>} */
    this._waiting = new Map();
    /** @type {WebSocket | null} */
    this._socket = null;
    addEventListener("hashchange", () => {
      const before = this._token;
      this._token = token();
      if (this._token !== before) this._socket?.close();
    });
  }

  open() {
    if (!this._token) {
      this._changed(false, "Open the address that pinrail bench has printed: it ends with a key.");
      return;
    }
    const address = `ws://${location.host}/stream`;
    const socket = new WebSocket(address, ["pinrail-bench", this._token]);
    this._socket = socket;
    let was_up = false;
    socket.onopen = () => {
      was_up = this.up = true;
      this._changed(true, "");
    };
    socket.onmessage = (event) => this._heard(JSON.parse(event.data));
    socket.onclose = (event) => {
      this.up = false;
      for (const answer of this._waiting.values()) {
        answer({ t: "answer", id: 0, ok: false, code: "gone", why: "the bench does not answer" });
      }
      this._waiting.clear();
      this._changed(false, why(event.code, was_up));
      setTimeout(() => this.open(), AGAIN_MS);
    };
  }

  /**
   * Asks for something.
   * @param {string} what
   * @param {Record<string, unknown>} [more]
   * @returns {Promise<Answer>}
   */
  ask(what, more = {}) {
    const id = (this._id += 1);
    const socket = this._socket;
    if (!socket || socket.readyState !== WebSocket.OPEN) {
      const answer = { ok: false, code: "gone", why: "the bench does not answer" };
      return Promise.resolve({ t: "answer", id, ...answer });
    }
    return new Promise((resolve) => {
      this._waiting.set(id, resolve);
      socket.send(JSON.stringify({ ...more, do: what, id }));
    });
  }

  /** @param {Answer} answer */
  answered(answer) {
    this._waiting.get(answer.id)?.(answer);
    this._waiting.delete(answer.id);
  }
}

/**
 * @param {number} code of the socket's close
 * @param {boolean} was_up
 * @returns {string}
 */
function why(code, was_up) {
  if (code === 1013) return "Too many pages are open: close one of them.";
  if (code === 1001) return "The bench has ended: start pinrail bench again.";
  if (code === 1008 || code === 1009) return "The bench refused what this page sent.";
  if (was_up) return "The bench does not answer any more: is pinrail bench still running?";
  return "No way to the bench. Is pinrail bench running? Each run has an address of its own: open the one it printed.";
}
