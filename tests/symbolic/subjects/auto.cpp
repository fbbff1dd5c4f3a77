#include "parts.h"

#include "behaviours/auto.h"

bool is_sound(const Auto::Memory& memory, const AutoTicks& ticks) {
  return memory.waited <= ticks.wait && memory.run_on_left <= ticks.run_on &&
         memory.ran <= ticks.longest;
}

void tick() {
  Control by_hand;
  Control stop;
  make_any_control(by_hand);
  make_any_control(stop);
  const AutoTicks ticks = { any32_to(LONG_TICKS_MOST), any32_to(LONG_TICKS_MOST),
                            any32_to(LONG_TICKS_MOST) };
  const Line drives = any_line();
  const bool has_hand = any_bool();
  const bool has_stop = any_bool();
  const Ask hand_ask(by_hand, any8(), any8());
  const Ask stop_ask(stop, any8(), any8());
  const Loss loss = any_loss();
  const Auto automatic(ByHand{ has_hand ? hand_ask : nobody }, StoppedBy{ has_stop ? stop_ask : nobody },
                       ticks, drives, loss);
  Auto::Memory memory;
  require(is_sound(memory, ticks));
  memory.on = any_bool();
  memory.ready = any_bool();
  memory.so = any_bool();
  memory.rests = any_bool();
  memory.waited = any32();
  memory.run_on_left = any32();
  memory.ran = any32();
  assume(is_sound(memory, ticks));
  const uint32_t ran = memory.ran;
  Outputs outputs;
  make_any(outputs);
  const Outputs before = outputs;
  const Barred barred = any16();
  bool is_barred = false;
  const SomeForce force(2, &is_barred);

  run(automatic, memory, outputs, barred, force);

  require(is_sound(memory, ticks));
  require(is_on(outputs, drives) == memory.on);
  require(lines_kept(before, outputs, drives, drives));
  require(!(memory.on && (barred >> 1 & 1u) != 0));
  // By itself it runs no longer than its longest.
  const bool by_a_hand = force.exists() || (has_hand && by_hand.held_at(hand_ask.position_));
  require(ticks.longest == 0 || ran < ticks.longest || by_a_hand || !memory.on);
}
