// What the bench may do: put its own pulses and readings in place of the receiver's and the sensors',
// and force one function. No register, no clock: once a tick it is told that a tick has gone by.
//
// - Nothing is forced that was not armed: by another line of the host's, not long before.
// - A force ends by itself some time after it was armed, and at once when the host falls silent.
// - A function that is forced is still run as all are: limits have their say, and if other functions or a
//   low battery keep it from what it is forced into, the force has ended.
#pragma once
#include "../logic/force.h"
#include "facts.h"

class Bench {
 public:
  // At start-up: whether the ship file, and the jumper if it wants one, allow any of it.
  void start(bool allowed) { is_allowed_ = allowed; }

  bool is_allowed() const { return is_allowed_; }

  // At the end of each tick. True when it is known whether the last `force` is obeyed: `answer` says.
  bool tick(bool force_is_barred) {
    if (force_is_barred) {
      let_go();
      is_barred_ = true;
    }
    if (silent_ticks_ < SILENT_TICKS) {
      ++silent_ticks_;
    }
    if (ticks_since_armed_ < FORCE_ENDS_TICKS) {
      ++ticks_since_armed_;
    }
    if (silent_ticks_ == SILENT_TICKS || ticks_since_armed_ == FORCE_ENDS_TICKS) {
      let_go();
    }
    if (ticks_until_answer_ == 0) {
      return false;
    }
    --ticks_until_answer_;
    return ticks_until_answer_ == 0;
  }

  uint8_t asked() const { return asked_; }
  Answer answer() const { return is_barred_ ? Answer::rule : Answer::ok; }

  // A good line has come from the host, whatever it said.
  void host_is_there() { silent_ticks_ = 0; }

  // The receiver and the sensors are not heard until the next start.
  void take_inputs() { has_inputs_ = true; }
  bool has_inputs() const { return has_inputs_; }

  // Functions count from 0.
  Answer arm(uint16_t function) {
    if (function >= FUNCTIONS) {
      return Answer::range;
    }
    armed_ = static_cast<uint8_t>(function + 1u);
    ticks_since_armed_ = 0;
    is_barred_ = false;
    return Answer::ok;
  }

  // What the host's line `number` asks for. No answer yet if it may be: the ship's rules are seen first.
  Answer force(uint16_t function, uint16_t state, uint8_t number) {
    if (function >= FUNCTIONS || state > 0xFFu ||
        !Force::is_known(as_reading(function, state), forces, FUNCTIONS)) {
      return Answer::range;
    }
    const bool is_armed = armed_ == function + 1u && ticks_since_armed_ < ARMED_TICKS;
    const bool goes_on = forced_ >> 8 == function + 1u;
    if (!is_armed && !goes_on) {
      return is_barred_ ? Answer::rule : Answer::arm;
    }
    forced_ = as_reading(function, state);
    asked_ = number;
    ticks_until_answer_ = ANSWER_TICKS;
    return Answer::none;
  }

  void let_go() {
    armed_ = 0;
    forced_ = 0;
  }

  // As a reading, for the logic.
  uint16_t forced() const { return forced_; }

 private:
  static constexpr uint8_t SILENT_TICKS = 60;         // 300 ms
  static constexpr uint16_t ARMED_TICKS = 1000;       // 5 s
  static constexpr uint16_t FORCE_ENDS_TICKS = 2000;  // 10 s
  static constexpr uint8_t ANSWER_TICKS = 2;          // another force is off for one first

  static uint16_t as_reading(uint16_t function, uint16_t state) {
    return static_cast<uint16_t>((function + 1u) << 8 | state);
  }

  uint16_t ticks_since_armed_ = FORCE_ENDS_TICKS;
  uint16_t forced_ = 0;
  uint8_t armed_ = 0;  // a function, from 1 on
  uint8_t silent_ticks_ = 0;
  uint8_t asked_ = 0;               // the number of the last line with a force
  uint8_t ticks_until_answer_ = 0;  // to it; 0: none is due
  bool is_barred_ = false;          // since it was armed
  bool is_allowed_ = false;
  bool has_inputs_ = false;
};
