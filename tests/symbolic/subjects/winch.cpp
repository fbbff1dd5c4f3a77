#include "parts.h"

#include "behaviours/winch.h"

// A ship's travel is a number; how it is made is looked at in tick_travel (winch.cpp).
uint32_t the_travel;
uint32_t instead_of_Winch_travel(RunTicks) { return the_travel; }

void tick() {
  Control first;
  Control second;
  make_any_control(first);
  make_any_control(second);
  const RunTicks run_ticks = { any16_from(1, RUN_MOST), any16_from(1, RUN_MOST) };
  const PauseTicks pause = { any16_from(0, RUN_MOST) };
  const Pair pair = { any_line(), any_line() };
  assume(pair.first.byte != pair.second.byte || pair.first.bit != pair.second.bit);
  const Winch winch(Ask(first, any8(), any8()), Ask(second, any8(), any8()), run_ticks, pause, pair);
  the_travel = any32();
  const uint32_t travel = Winch::travel(run_ticks);
  Winch::Memory memory(winch);
  require(memory.first_room <= travel && memory.second_room <= travel);
  require(memory.motor == Winch::stopped && memory.still_ticks == 0);
  make_any(memory);
  assume(memory.motor <= 2 && memory.turned_last <= 2);
  assume(memory.still_ticks <= pause.ticks);
  assume(memory.first_room <= travel && memory.second_room <= travel);
  assume(memory.motor == Winch::stopped || memory.motor == memory.turned_last);
  const Winch::Memory was = memory;
  Outputs outputs;
  make_any(outputs);
  const Outputs before = outputs;
  const Barred barred = any16();
  bool is_barred = false;
  const SomeForce force(3, &is_barred);

  run(winch, memory, outputs, barred, force);

  require(memory.motor <= 2 && memory.turned_last <= 2);
  require(memory.still_ticks <= pause.ticks);
  require(memory.first_room <= travel && memory.second_room <= travel);
  require(memory.motor == Winch::stopped || memory.motor == memory.turned_last);
  // Never both; only what the travel has room for; never the other way before the pause.
  require(!(is_on(outputs, pair.first) && is_on(outputs, pair.second)));
  require(lines_kept(before, outputs, pair.first, pair.second));
  require(memory.motor != Winch::first_way || was.first_room >= run_ticks.second);
  require(memory.motor != Winch::second_way || was.second_room >= run_ticks.first);
  require(memory.motor == Winch::stopped || memory.motor == was.turned_last ||
          was.still_ticks == pause.ticks);
  require(memory.motor == Winch::stopped || (barred >> memory.motor & 1u) == 0);
}

void tick_travel() {
  const RunTicks run_ticks = { any16(), any16() };

  require(Winch::travel(run_ticks) <= 0xFFFE0001ul);
}
