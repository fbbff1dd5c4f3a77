#include "parts.h"

#include "behaviours/winch_more.h"

// A ship's travel is a number; how it is made is looked at in tick_travel (winch.cpp).
uint32_t the_travel;
uint32_t instead_of_Winch_travel(RunTicks) { return the_travel; }

struct Ship {
  Control first;
  Control second;
  RunTicks run_ticks;
  PauseTicks pause;
  Unknown unknown;
  Duty duty;
  Felt felt;
  StallTicks stall;
  Pair pair;
  Ship()
      : run_ticks{ any16_from(1, RUN_MOST), any16_from(1, RUN_MOST) },
        pause{ any16_from(0, RUN_MOST) },
        unknown{ any_bool(), any_bool() },
        duty{ any32_to(DUTY_LIMIT_MOST), any8_to(99), any8_to(99) },
        felt{ any8_to(4), any8_to(4), any8_to(4) },
        stall{ any16_from(0, STALL_MOST) },
        pair{ any_line(), any_line() } {
    the_travel = any32_to(0xFFFE0001ul);
    make_any_control(first);
    make_any_control(second);
    assume(pair.first.byte != pair.second.byte || pair.first.bit != pair.second.bit);
  }
};

bool is_sound(const WinchMore::Memory& memory, const Ship& ship) {
  const uint32_t travel = Winch::travel(ship.run_ticks);
  const bool cold = ship.duty.limit == 0;
  return memory.motor <= 2 && memory.turned_last <= 2 && memory.still_ticks <= ship.pause.ticks &&
         memory.first_room <= travel && memory.second_room <= travel &&
         (memory.motor == Winch::stopped || memory.motor == memory.turned_last) &&
         memory.stalled_ticks <= ship.stall.ticks &&
         (cold ? memory.warmth == 0 && !memory.resting
               : memory.warmth <= ship.duty.limit + ship.duty.warms &&
                     (memory.resting || memory.warmth < ship.duty.limit));
}

void tick() {
  const Ship ship;
  const WinchMore winch(Ask(ship.first, any8(), any8()), Ask(ship.second, any8(), any8()),
                        ship.run_ticks, ship.pause, ship.unknown, ship.duty, ship.felt, ship.stall,
                        ship.pair);
  WinchMore::Memory memory(winch);
  require(is_sound(memory, ship));
  memory.motor = static_cast<Winch::State>(any8_to(2));
  memory.turned_last = static_cast<Winch::State>(any8_to(2));
  memory.still_ticks = any16();
  memory.first_room = any32();
  memory.second_room = any32();
  memory.warmth = any32();
  memory.stalled_ticks = any16();
  memory.resting = any_bool();
  memory.stopped_by_stall = any_bool();
  memory.so = any16();
  assume(is_sound(memory, ship));
  const WinchMore::Memory was = memory;
  Outputs outputs;
  make_any(outputs);
  const Outputs before = outputs;
  const Barred barred = any16();
  bool is_barred = false;
  const SomeForce force(3, &is_barred);

  run(winch, memory, outputs, barred, force);

  require(is_sound(memory, ship));
  require(!(is_on(outputs, ship.pair.first) && is_on(outputs, ship.pair.second)));
  require(lines_kept(before, outputs, ship.pair.first, ship.pair.second));
  // At an end, held fast, warm, or where nobody knows it may: it stands.
  const bool first_end = (was.so & ship.felt.first_end) != 0;
  const bool second_end = (was.so & ship.felt.second_end) != 0;
  require(!(first_end && memory.motor == Winch::first_way));
  require(!(second_end && memory.motor == Winch::second_way));
  require(!was.resting || memory.motor == Winch::stopped);
  require(first_end != second_end || memory.motor != Winch::first_way ||
          was.first_room >= ship.run_ticks.second);
  require(first_end != second_end || memory.motor != Winch::second_way ||
          was.second_room >= ship.run_ticks.first);
  require(memory.motor == Winch::stopped || memory.motor == was.turned_last ||
          was.still_ticks == ship.pause.ticks);
  require(memory.motor == Winch::stopped || (barred >> memory.motor & 1u) == 0);
}

void tick_recall() {
  const Ship ship;
  const WinchMore winch(Ask(ship.first, any8(), any8()), Ask(ship.second, any8(), any8()),
                        ship.run_ticks, ship.pause, ship.unknown, ship.duty, ship.felt, ship.stall,
                        ship.pair);
  WinchMore::Memory memory(winch);
  uint8_t kept[4] = { any8(), any8(), any8(), any8() };

  winch.recall(kept, memory);

  require(is_sound(memory, ship));
}

void tick_keep() {
  uint8_t bytes[4];
  const uint32_t value = any32();

  keep_long(value, bytes);

  require(kept_long(bytes) == value);
}
