// A winch that must find its end after power-up, or whose motor must rest after a long run.
#pragma once
#include "../logic/kept.h"
#include "winch.h"

// The ways that are allowed while nobody knows where the load hangs.
struct Unknown {
  bool first;
  bool second;
};

// The motor's warmth (IEC 60034-1 duty S3): so much is added in each tick that it runs, so much leaves in
// each that it stands. At the limit it is stopped until all has left. A limit of 0 is none.
struct Duty {
  uint32_t limit;
  uint8_t warms;
  uint8_t cools;
};

// What the bits mean that its Memory is told: an end switch each way, and that the motor is held fast.
struct Felt {
  uint8_t first_end;
  uint8_t second_end;
  uint8_t held_fast;
};

// How long the motor may be held fast.
struct StallTicks {
  uint16_t ticks;
};

class WinchMore : public Winch {
 public:
  struct Memory : Winch::Memory {
    Long warmth;
    uint16_t stalled_ticks;  // held fast while it ran
    bool resting;            // from the limit until all warmth has left
    bool stopped_by_stall;   // until nothing is asked of it
    uint16_t so;             // what its sensors say, told anew in each tick

    explicit constexpr Memory(const WinchMore& winch)
        : Winch::Memory(winch),
          warmth(0),
          stalled_ticks(0),
          resting(false),
          stopped_by_stall(false),
          so(0) {}
  };

  constexpr WinchMore(Ask first, Ask second, RunTicks run, PauseTicks pause, Unknown unknown,
                      const Duty& duty, const Felt& felt, StallTicks stall, Pair drives)
      : Winch(first, second, run, pause, drives),
        unknown_(unknown),
        duty_(duty),
        felt_(felt),
        stall_(stall) {}

  IN_PLACE State limited(State wanted, Memory& memory) const {
    if (is_stopped(wanted, memory, felt_.first_end, felt_.second_end, whole()) ||
        (!may_unknown(wanted) && !knows(memory, whole()))) {
      return stopped;
    }
    return Winch::limited(wanted, memory);
  }

  IN_PLACE void become(State state, Memory& memory) const {
    Winch::become(state, memory);
    feel_stall(memory, (memory.so & felt_.held_fast) != 0, stall_.ticks);
    if (duty_.limit != 0) {
      temper(memory, duty_.limit, duty_.warms, duty_.cools);
    }
  }

  // What is kept is the room for the first way while the load hangs still and it is known where. The
  // record that nobody knows is begun as soon as the motor runs.
  IN_PLACE void keep(const Memory& memory, uint8_t* into) const {
    const bool known = memory.motor == stopped && knows(memory, whole());
    keep_long(known ? memory.first_room : NOBODY_KNOWS, into);
  }

  IN_PLACE void recall(const uint8_t* from, Memory& memory) const {
    const uint32_t room = kept_long(from);
    if (room <= whole()) {
      memory.first_room = room;
      memory.second_room = whole() - room;
    }
  }

 private:
  // By an end switch, which also says where the load is; by the motor's rest; or by a stall. A switch says
  // nothing of where it is once the motor has turned away from there: one that has stuck gives back nothing of
  // what was spent. The bits come one by one, as the duty does below: as a whole they would have to lie in
  // memory.
  ONCE static bool is_stopped(State wanted, Memory& memory, uint8_t first_end, uint8_t second_end,
                              uint32_t travel) {
    const bool at_first_end = (memory.so & first_end) != 0;
    const bool at_second_end = (memory.so & second_end) != 0;
    const bool turned_away = memory.turned_last == (at_first_end ? second_way : first_way);
    if (at_first_end != at_second_end && !turned_away) {
      memory.first_room = at_first_end ? 0 : travel;
      memory.second_room = at_second_end ? 0 : travel;
    }
    if (wanted == stopped) {
      memory.stopped_by_stall = false;
    }
    return memory.resting || memory.stopped_by_stall || (at_first_end && wanted == first_way) ||
           (at_second_end && wanted == second_way);
  }

  ONCE static void feel_stall(Memory& memory, bool held_fast, uint16_t most_ticks) {
    if (memory.motor == stopped || !held_fast) {
      memory.stalled_ticks = 0;
    } else if (memory.stalled_ticks < most_ticks) {
      ++memory.stalled_ticks;
    } else {
      memory.stopped_by_stall = true;
    }
  }

  IN_PLACE bool may_unknown(State wanted) const {
    return wanted == first_way ? unknown_.first : unknown_.second;
  }

  // What is left of the travel each way adds up to the whole only once an end has been reached.
  ONCE static bool knows(const Memory& memory, uint32_t travel) {
    return memory.first_room == travel - memory.second_room;
  }

  ONCE static void temper(Memory& memory, uint32_t limit, uint8_t warms, uint8_t cools) {
    const uint32_t before = memory.warmth;
    if (memory.motor != stopped) {
      memory.warmth = before + warms;
      if (before + warms >= limit) {
        memory.resting = true;
      }
    } else if (before > cools) {
      memory.warmth = before - cools;
    } else {
      memory.warmth = 0;
      memory.resting = false;
    }
  }

  Unknown unknown_;
  Duty duty_;
  Felt felt_;
  StallTicks stall_;
};
