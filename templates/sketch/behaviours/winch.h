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

  // Where the load hangs at power-up is not known: a whole travel is allowed either way. Whichever
  // end is reached first, both counts agree from then on.
  constexpr Winch(Ask first, Ask second, RunTicks run, PauseTicks pause, Pair drives)
      : first_(first),
        second_(second),
        run_(run),
        pause_ticks_(pause.ticks),
        drives_(drives),
        motor_(stopped),
        turned_last_(stopped),
        still_ticks_(0),
        first_room_(travel(run)),
        second_room_(travel(run)) {}

  State asked() const {
    if (first_.held() == second_.held()) {
      return stopped;  // neither, or both
    }
    return first_.held() ? first_way : second_way;
  }

  bool signal_lost() const { return first_.lost() || second_.lost(); }
  State when_lost(State) const { return stopped; }

  State limited(State wanted) const {
    if (wanted != turned_last_ && still_ticks_ < pause_ticks_) {
      return stopped;
    }
    if (wanted == first_way && first_room_ < first_cost()) {
      return stopped;
    }
    if (wanted == second_way && second_room_ < second_cost()) {
      return stopped;
    }
    return wanted;
  }

  void become(State state) {
    motor_ = state;
    if (state == stopped) {
      if (still_ticks_ < pause_ticks_) {
        ++still_ticks_;
      }
      return;
    }
    still_ticks_ = 0;
    turned_last_ = state;
    if (state == first_way) {
      spend(first_room_, second_room_, first_cost());
    } else {
      spend(second_room_, first_room_, second_cost());
    }
  }

  void drive(Outputs& outputs) const {
    outputs.set(drives_.first, motor_ == first_way);
    outputs.set(drives_.second, motor_ == second_way);
  }

  void digest(Digest& into) const {
    into.add(motor_);
    into.add(turned_last_);
    into.add(still_ticks_);
    into.add_long(first_room_);
    into.add_long(second_room_);
  }

 private:
  // A whole travel is first * second units, so that a tick either way is a whole number of them:
  // the slower way spends fewer.
  static constexpr uint32_t travel(RunTicks run) {
    return static_cast<uint32_t>(run.first) * run.second;
  }
  uint32_t first_cost() const { return run_.second; }
  uint32_t second_cost() const { return run_.first; }

  // What is spent one way is won for the other, up to a whole travel.
  void spend(uint32_t& from, uint32_t& to, uint32_t cost) {
    from -= cost;
    const uint32_t lacking = travel(run_) - to;
    to += cost < lacking ? cost : lacking;
  }

  Ask first_;
  Ask second_;
  RunTicks run_;
  uint16_t pause_ticks_;
  Pair drives_;
  State motor_;
  State turned_last_;
  uint16_t still_ticks_;
  uint32_t first_room_;
  uint32_t second_room_;
};
