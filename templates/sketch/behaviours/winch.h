// Winch: a motor that turns two ways, never both, never past its limits.
#pragma once
#include "../logic/function.h"

// How long a whole travel takes each way.
struct RunTicks {
  uint16_t first;
  uint16_t second;

  // A whole travel is this many units, so that a tick either way is a whole number of them: the
  // slower way spends fewer.
  constexpr uint32_t travel() const { return static_cast<uint32_t>(first) * second; }
  uint32_t first_cost() const { return second; }
  uint32_t second_cost() const { return first; }
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
    uint32_t first_room;  // what is left of the travel each way
    uint32_t second_room;

    // Where the load hangs at power-up is not known: a whole travel is allowed either way.
    // Whichever end is reached first, both counts agree from then on.
    explicit constexpr Memory(const Winch& winch)
        : motor(stopped),
          turned_last(stopped),
          still_ticks(0),
          first_room(winch.run_.travel()),
          second_room(winch.run_.travel()) {}

    void digest(Digest& into) const {
      into.add(motor);
      into.add(turned_last);
      into.add(still_ticks);
      into.add_long(first_room);
      into.add_long(second_room);
    }
  };

  constexpr Winch(Ask first, Ask second, RunTicks run, PauseTicks pause, Pair drives)
      : first_(first), second_(second), run_(run), pause_(pause), drives_(drives) {}

  bool signal_lost() const { return first_.lost() || second_.lost(); }

  State asked(const Memory&) const {
    if (first_.held() == second_.held()) {
      return stopped;  // neither, or both
    }
    return first_.held() ? first_way : second_way;
  }

  State when_lost(State, const Memory&) const { return stopped; }

  State limited(State wanted, const Memory& memory) const {
    if (wanted != memory.turned_last && memory.still_ticks < pause_.ticks) {
      return stopped;
    }
    if (wanted == first_way && memory.first_room < run_.first_cost()) {
      return stopped;
    }
    if (wanted == second_way && memory.second_room < run_.second_cost()) {
      return stopped;
    }
    return wanted;
  }

  void become(State state, Memory& memory) const {
    memory.motor = state;
    if (state == stopped) {
      if (memory.still_ticks < pause_.ticks) {
        ++memory.still_ticks;
      }
      return;
    }
    memory.still_ticks = 0;
    memory.turned_last = state;
    if (state == first_way) {
      spend(memory.first_room, memory.second_room, run_.first_cost());
    } else {
      spend(memory.second_room, memory.first_room, run_.second_cost());
    }
  }

  void drive(const Memory& memory, Outputs& outputs) const {
    outputs.set(drives_.first, memory.motor == first_way);
    outputs.set(drives_.second, memory.motor == second_way);
  }

 private:
  // What is spent one way is won for the other, up to a whole travel.
  void spend(uint32_t& from, uint32_t& to, uint32_t cost) const {
    from -= cost;
    const uint32_t lacking = run_.travel() - to;
    to += cost < lacking ? cost : lacking;
  }

  Ask first_;
  Ask second_;
  RunTicks run_;
  PauseTicks pause_;
  Pair drives_;
};
