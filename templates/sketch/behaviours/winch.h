// Winch: a motor that turns two ways, never both, never past its limits.
#pragma once
#include "../logic/function.h"

// How long a whole travel takes each way.
struct RunTicks {
  uint16_t first;
  uint16_t second;
};

struct PauseTicks {
  uint16_t ticks;
};

class Winch {
 public:
  enum State : uint8_t { stopped, first_way, second_way };

  struct Memory {
    State motor;
    State turned_last;
    uint16_t still_ticks;
    Long first_room;  // what is left of the travel each way
    Long second_room;

    // Where the load hangs at power-up is not known: a whole travel is allowed either way.
    // Whichever end is reached first, both counts agree from then on.
    explicit constexpr Memory(const Winch& winch)
        : motor(stopped),
          turned_last(stopped),
          still_ticks(0),
          first_room(travel(winch.run_)),
          second_room(travel(winch.run_)) {}
  };

  constexpr Winch(Ask first, Ask second, RunTicks run, PauseTicks pause, Pair drives)
      : first_(first), second_(second), run_(run), pause_(pause), drives_(drives) {}

  IN_PLACE bool signal_lost() const { return first_.lost() || second_.lost(); }

  IN_PLACE State asked(const Memory&) const {
    if (first_.held() == second_.held()) {
      return stopped;  // neither, or both
    }
    return first_.held() ? first_way : second_way;
  }

  IN_PLACE State when_lost(State, const Memory&) const { return stopped; }
  IN_PLACE State when_barred(const Memory&) const { return stopped; }
  IN_PLACE State as_forced(Forced forced, const Memory&) const {
    return static_cast<State>(forced.state);
  }
  IN_PLACE uint8_t state(const Memory& memory) const { return memory.motor; }
  IN_PLACE uint8_t state_of(State wanted) const { return wanted; }

  IN_PLACE State limited(State wanted, const Memory& memory) const {
    return allowed(wanted, memory, cost(wanted), pause_.ticks);
  }

  IN_PLACE void become(State state, Memory& memory) const {
    memory.motor = state;
    if (state == stopped) {
      rest(memory, pause_.ticks);
    } else if (state == first_way) {
      turn(memory, state, memory.first_room, memory.second_room, cost(state), travel(run_));
    } else {
      turn(memory, state, memory.second_room, memory.first_room, cost(state), travel(run_));
    }
  }

  IN_PLACE void drive(const Memory& memory, Outputs& outputs) const {
    outputs.set(drives_.first, memory.motor == first_way);
    outputs.set(drives_.second, memory.motor == second_way);
  }

 protected:
  constexpr uint32_t whole() const { return travel(run_); }

 private:
  // A whole travel is first * second units, so that a tick either way is a whole number of them:
  // the slower way spends fewer.
  static constexpr uint32_t travel(RunTicks run) {
    return static_cast<uint32_t>(run.first) * run.second;
  }

  IN_PLACE uint16_t cost(State way) const { return way == first_way ? run_.second : run_.first; }

  ONCE static State allowed(State wanted, const Memory& memory, uint16_t cost, uint16_t pause) {
    if (wanted != memory.turned_last && memory.still_ticks < pause) {
      return stopped;
    }
    if (wanted == first_way && memory.first_room < cost) {
      return stopped;
    }
    if (wanted == second_way && memory.second_room < cost) {
      return stopped;
    }
    return wanted;
  }

  ONCE static void rest(Memory& memory, uint16_t pause) {
    if (memory.still_ticks < pause) {
      ++memory.still_ticks;
    }
  }

  // What is spent one way is won for the other, up to a whole travel.
  ONCE static void turn(Memory& memory, State way, Long& from, Long& to, uint16_t cost,
                        uint32_t travel) {
    memory.still_ticks = 0;
    memory.turned_last = way;
    from = from - cost;
    const uint32_t lacking = travel - to;
    to = to + (cost < lacking ? cost : lacking);
  }

  Ask first_;
  Ask second_;
  RunTicks run_;
  PauseTicks pause_;
  Pair drives_;
};
