#include "parts.h"

#include "behaviours/follow_more.h"

// What tick_deflection, tick_curved and tick_placed (follow.cpp) and tick_share prove, in place of what they
// prove it of.
int16_t any_deflection() {
  const uint16_t size = any16_from(0, Deflection::FULL);
  return any_bool() ? static_cast<int16_t>(-static_cast<int16_t>(size)) : static_cast<int16_t>(size);
}

int16_t instead_of_Deflection_of(HalfUs, HalfUs, HalfUs, uint16_t, uint16_t) { return any_deflection(); }
uint16_t instead_of_Deflection_gain(int32_t) { return any16(); }
int16_t instead_of_Follow_curved(int16_t, uint16_t) { return any_deflection(); }
int16_t instead_of_Mix_share(int16_t, int16_t) { return any_deflection(); }
HalfUs instead_of_Follow_placed(int16_t deflection, HalfUs middle, uint16_t low_16ths, uint16_t high_16ths) {
  const HalfUs away = any16();
  assume(away <= (deflection < 0 ? low_16ths : high_16ths) / 16);
  return deflection < 0 ? middle - away : middle + away;
}

void tick_share() {
  const uint16_t parts = any16_from(0, 256);
  const int16_t per_256 =
      any_bool() ? static_cast<int16_t>(-static_cast<int16_t>(parts)) : static_cast<int16_t>(parts);

  const int16_t share = Mix::share(any_deflection(), per_256);

  require(-Deflection::FULL <= share && share <= Deflection::FULL);
}

void tick_bounded() {
  const int16_t bounded = FollowMore::bounded(any_deflection() + any_deflection());

  require(-Deflection::FULL <= bounded && bounded <= Deflection::FULL);
}

struct Ship {
  Proportional stick;
  Proportional other;
  Control key;
  HalfUs low_end;
  HalfUs high_end;
  Centre centre;
  Travel travel;
  Servo servo;
  uint32_t step;
  uint16_t neutral_ticks;
  Ship()
      : low_end(any16_from(WIDTH_LEAST, WIDTH_MOST)),
        high_end(any16_from(WIDTH_LEAST, WIDTH_MOST)),
        centre{ any16_from(WIDTH_LEAST, WIDTH_MOST), any16_from(0, DEAD_MOST) },
        travel{ any16_from(SERVO_LEAST, SERVO_MOST), any16_from(SERVO_LEAST, SERVO_MOST),
                any16_from(SERVO_LEAST, SERVO_MOST) },
        servo{ any8_to(SERVO_SLOTS - 1), SERVO_LEAST, SERVO_MOST, any16_from(SERVO_LEAST, SERVO_MOST) },
        step(any32_to(static_cast<uint32_t>(SERVO_MOST - SERVO_LEAST) << 8)),
        neutral_ticks(any16()) {
    make_any_stick(stick);
    make_any_stick(other);
    make_any_control(key);
    assume(low_end + centre.dead + REACH_LEAST <= centre.at);
    assume(centre.at + centre.dead + REACH_LEAST <= high_end);
    assume(travel.low <= travel.middle && travel.middle <= travel.high);
    assume(step != 0);
  }
};

bool is_within(const Follow::Memory& memory, const Ship& ship) {
  const HalfUs low = ship.servo.rest < ship.travel.low ? ship.servo.rest : ship.travel.low;
  const HalfUs high = ship.servo.rest > ship.travel.high ? ship.servo.rest : ship.travel.high;
  return low <= memory.target && memory.target <= high &&
         static_cast<uint32_t>(low) << 8 <= memory.width &&
         memory.width <= static_cast<uint32_t>(high) << 8;
}

template <class Which>
void goes_on(const Which& follow, typename Which::Memory& memory, const Ship& ship) {
  assume(is_within(memory, ship));
  const uint32_t was = memory.width;
  Outputs outputs;
  make_any(outputs);
  bool is_barred = false;
  const SomeForce force(3, &is_barred);

  run(follow, memory, outputs, any16(), force);

  require(is_within(memory, ship));
  require(memory.width <= was || memory.width - was <= ship.step);
  require(memory.width >= was || was - memory.width <= ship.step);
  require(outputs.servos[ship.servo.index] >= SERVO_LEAST);
  require(outputs.servos[ship.servo.index] <= SERVO_MOST);
}

// A plain one; the same classes make it.
void tick_follow() {
  const Ship ship;
  const Follow follow(Deflection(Value(ship.stick, ship.low_end, ship.high_end), ship.centre),
                      ship.travel, Curve{ any16_from(0, 256) }, any_bool() ? Turn::reverse : Turn::same,
                      StepPer256{ ship.step }, ship.servo, any_loss());
  Follow::Memory memory(follow);
  require(is_within(memory, ship));
  memory.target = any16();
  memory.width = any32();
  goes_on(follow, memory, ship);
}

void tick() {
  const Ship ship;
  const Deflection stick(Value(ship.stick, ship.low_end, ship.high_end), ship.centre);
  const Deflection other(Value(ship.other, ship.low_end, ship.high_end), ship.centre);
  const bool is_tied = any_bool();
  const bool is_mixed = any_bool();
  const Tie no_tie;
  const Mix no_mix;
  const Tie tie(Ask(ship.key, any8(), any8()), other);
  const uint16_t parts = any16_from(0, 256);
  const Mix mix(other, any_bool() ? static_cast<int16_t>(-static_cast<int16_t>(parts))
                                  : static_cast<int16_t>(parts));
  const FollowMore follow(stick, is_tied ? tie : no_tie, is_mixed ? mix : no_mix, ship.travel,
                          Curve{ any16_from(0, 256) }, any_bool() ? Turn::reverse : Turn::same,
                          StepPer256{ ship.step }, NeutralTicks{ ship.neutral_ticks }, ship.servo,
                          any_loss());
  FollowMore::Memory memory(follow);
  require(is_within(memory, ship) && memory.neutral_ticks == 0);
  memory.target = any16();
  memory.width = any32();
  memory.neutral_ticks = any16_from(0, ship.neutral_ticks);
  goes_on(follow, memory, ship);
  require(memory.neutral_ticks <= ship.neutral_ticks);
}
