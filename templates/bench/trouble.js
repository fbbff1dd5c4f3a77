// Trouble on purpose, on a board that is not real: what radio, battery and motors do to a ship.

import { buttonById, byId, make, mark, say, show } from "./dom.js";

/** @typedef {import("./store.js").Store} Store */
/** @typedef {import("./messages").Ship} Ship */
/** @typedef {import("./messages").Answer} Answer */
/** @typedef {import("./controls.js").Ask} Ask */

/**
 * @param {boolean} is_board
 * @param {boolean} can_fault
 * @returns {string} what it is good for, or why there is none
 */
function note(is_board, can_fault) {
  if (!can_fault) return "A real board has real trouble: switch the transmitter off and see.";
  if (is_board) return "What a radio can do to it, while it is worked from here. It moves: keep clear.";
  return "What radio, battery and motors can do to it. Nothing real is harmed.";
}

/**
 * @param {Store} store
 * @param {Ask} ask
 * @returns {{build(ship: Ship): void, able(): void}}
 */
export function trouble(store, ask) {
  const lose = buttonById("lose");
  const lose_what = /** @type {HTMLSelectElement} */ (byId("lose-what"));
  const stall = buttonById("stall");
  const stall_what = /** @type {HTMLSelectElement} */ (byId("stall-what"));
  const noise = /** @type {HTMLInputElement} */ (byId("noise"));
  const drop = /** @type {HTMLInputElement} */ (byId("drop"));
  const brown_out = buttonById("brown-out");
  const restart = buttonById("restart");
  const said = byId("trouble-said");
  const tell = async (/** @type {Promise<Answer>} */ asked) => {
    const answer = await asked;
    say(said, answer.ok ? "" : `Refused: ${answer.why ?? ""}`);
  };
  const channels = () => (lose_what.value === "" ? undefined : [Number(lose_what.value)]);
  const lost = () => {
    const away = store.state?.faults.lost ?? [];
    const chosen = channels();
    const of = chosen ?? store.ship?.channels.map((_, index) => index) ?? [];
    return of.length > 0 && of.every((one) => away.includes(one));
  };
  lose.addEventListener("click", () => tell(ask("signal", { lost: !lost(), channels: channels() })));
  noise.addEventListener("input", () => {
    say(byId("noise-now"), `${Number(noise.value) / 2} µs`);
    tell(ask("noise", { half_us: Number(noise.value) }));
  });
  drop.addEventListener("input", () => {
    say(byId("drop-now"), `${drop.value} %`);
    tell(ask("drop", { percent: Number(drop.value) }));
  });
  stall.addEventListener("click", () => {
    const of = Number(stall_what.value);
    tell(ask("stall", { function: of, on: !store.state?.faults.stalled.includes(of) }));
  });
  brown_out.addEventListener("click", () => tell(ask("brown_out", {})));
  restart.addEventListener("click", () => tell(ask("restart", { forget: false })));

  const able = () => {
    const state = store.state;
    if (!state) return;
    const { can, faults } = state;
    for (const one of [lose, lose_what, noise, drop, brown_out]) one.disabled = !can.fault;
    restart.disabled = !can.restart;
    stall.disabled = stall_what.disabled = !can.stall;
    show(byId("stall-pair"), stall_what.options.length > 0);
    show(byId("trouble-all"), can.fault || can.restart);
    say(byId("trouble-note"), note(state.source === "board", can.fault));
    mark(lose, "aria-pressed", String(lost()));
    say(lose, lost() ? "Signal returns" : "Lose signal");
    mark(stall, "aria-pressed", String(faults.stalled.includes(Number(stall_what.value))));
    if (document.activeElement !== noise) noise.value = String(faults.noise_half_us);
    if (document.activeElement !== drop) drop.value = String(faults.drop_percent);
    say(byId("noise-now"), `${Number(noise.value) / 2} µs`);
    say(byId("drop-now"), `${drop.value} %`);
  };
  lose_what.addEventListener("change", able);
  stall_what.addEventListener("change", able);

  return {
    build(ship) {
      lose_what.replaceChildren(
        make("option", { value: "", text: "all channels" }),
        ...ship.channels.map((one, index) => make("option", { value: index, text: one.name })),
      );
      const stalling = ship.functions.flatMap((one, index) =>
        one.may_stall ? [make("option", { value: index, text: one.name })] : [],
      );
      stall_what.replaceChildren(...stalling);
      able();
    },
    able,
  };
}
