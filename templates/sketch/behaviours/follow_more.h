// A follow that can be tied to another stick, is mixed with one, or drives a speed controller.
#pragma once
#include "follow.h"

// Another stick that is obeyed instead for as long as a position is held.
class Tie {
 public:
  constexpr Tie() : by_(), stick_() {}
  constexpr Tie(const Ask& by, const Deflection& stick) : by_(by), stick_(stick) {}

  IN_PLACE bool lost() const { return stick_.exists() && (by_.lost() || stick_.lost()); }
  IN_PLACE bool holds() const { return stick_.exists() && by_.held(); }
  constexpr const Deflection& stick() const { return stick_; }

 private:
  Ask by_;
  Deflection stick_;
};

// Another stick of which a share is added.
class Mix {
 public:
  constexpr Mix() : stick_(), per_256_(0) {}
  constexpr Mix(const Deflection& stick, int16_t per_256) : stick_(stick), per_256_(per_256) {}

  IN_PLACE bool lost() const { return stick_.exists() && stick_.lost(); }

  IN_PLACE int16_t now() const {
    return stick_.exists() && stick_.armed() ? share(stick_.now(), per_256_) : int16_t(0);
  }

 private:
  ONCE static int16_t share(int16_t whole, int16_t per_256) {
    const bool down = (whole < 0) != (per_256 < 0);
    const uint16_t size = static_cast<uint16_t>(whole < 0 ? -whole : whole);
    const uint16_t parts = static_cast<uint16_t>(per_256 < 0 ? -per_256 : per_256);
    const int16_t part = static_cast<int16_t>(product(size, parts) >> 8);
    return down ? static_cast<int16_t>(-part) : part;
  }

  Deflection stick_;
  int16_t per_256_;
};

// How long a speed controller is given rest before it may be given anything else.
struct NeutralTicks {
  uint16_t ticks;
};

class FollowMore : public Follow {
 public:
  struct Memory : Follow::Memory {
    uint16_t neutral_ticks;  // counted up to what is waited for

    explicit constexpr Memory(const FollowMore& follow)
        : Follow::Memory(follow), neutral_ticks(0) {}
  };

  constexpr FollowMore(const Deflection& stick, const Tie& tie, const Mix& mix,
                       const Travel& travel, Curve curve, Turn turn, StepPer256 step, NeutralTicks neutral,
                       const Servo& drives, Loss loss)
      : Follow(stick, travel, curve, turn, step, drives, loss),
        tie_(tie),
        mix_(mix),
        neutral_(neutral) {}

  IN_PLACE bool signal_lost() const {
    return Follow::signal_lost() || tie_.lost() || mix_.lost();
  }

  // What hangs on several sticks follows none of them while one cannot be heard.
  IN_PLACE State asked(Memory& memory) const {
    if (signal_lost()) {
      return fine(memory.target);
    }
    if (tie_.holds()) {
      obey(tie_.stick(), memory);
    } else {
      obey(stick(), memory);
    }
    return fine(memory.target);
  }

  IN_PLACE State when_lost(State wanted, Memory& memory) const {
    if (memory.neutral_ticks != 0 && memory.neutral_ticks == neutral_.ticks) {
      --memory.neutral_ticks;
    }
    return Follow::when_lost(wanted, memory);
  }

  // Behind a force a speed controller is given rest anew.
  IN_PLACE State as_forced(Forced forced, Memory& memory) const {
    memory.neutral_ticks = 0;
    return Follow::as_forced(forced, memory);
  }

 private:
  IN_PLACE void obey(const Deflection& stick, Memory& memory) const {
    if (!stick.armed()) {
      return;
    }
    memory.target = width_at(bounded(curved(stick.now()) + mix_.now()));
    if (memory.neutral_ticks != neutral_.ticks) {
      const bool neutral = state_of(fine(memory.target)) == 0;
      memory.neutral_ticks = neutral ? static_cast<uint16_t>(memory.neutral_ticks + 1u) : 0u;
      memory.target = rest();
    }
  }

  ONCE static int16_t bounded(int deflection) {
    if (deflection < -Deflection::FULL) {
      return static_cast<int16_t>(-Deflection::FULL);
    }
    return static_cast<int16_t>(deflection > Deflection::FULL ? Deflection::FULL : deflection);
  }

  Tie tie_;
  Mix mix_;
  NeutralTicks neutral_;
};
