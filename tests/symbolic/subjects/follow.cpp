#include "parts.h"

#include "behaviours/follow.h"

// Numbers that a stick and a servo may have.
struct Ship {
  Proportional stick;
  HalfUs low_end;
  HalfUs high_end;
  Centre centre;
  Travel travel;
  Servo servo;
  Ship()
      : low_end(any16_from(WIDTH_LEAST, WIDTH_MOST)),
        high_end(any16_from(WIDTH_LEAST, WIDTH_MOST)),
        centre{ any16_from(WIDTH_LEAST, WIDTH_MOST), any16_from(0, DEAD_MOST) },
        travel{ any16_from(SERVO_LEAST, SERVO_MOST), any16_from(SERVO_LEAST, SERVO_MOST),
                any16_from(SERVO_LEAST, SERVO_MOST) },
        servo{ any8_to(SERVO_SLOTS - 1), SERVO_LEAST, SERVO_MOST, any16_from(SERVO_LEAST, SERVO_MOST) } {
    make_any_stick(stick);
    assume(low_end + centre.dead + REACH_LEAST <= centre.at);
    assume(centre.at + centre.dead + REACH_LEAST <= high_end);
    assume(travel.low <= travel.middle && travel.middle <= travel.high);
  }
};

// From -FULL to FULL, wherever a stick may be.
void tick_deflection() {
  const Ship ship;
  const Deflection deflection(Value(ship.stick, ship.low_end, ship.high_end), ship.centre);

  const int16_t now = deflection.now();

  require(-Deflection::FULL <= now && now <= Deflection::FULL);
  require(now <= 0 || ship.stick.value() > ship.centre.at);
  require(now >= 0 || ship.stick.value() < ship.centre.at);
}

int16_t any_deflection() {
  const uint16_t size = any16_from(0, Deflection::FULL);
  return any_bool() ? static_cast<int16_t>(-static_cast<int16_t>(size)) : static_cast<int16_t>(size);
}

// A curve never leads farther out.
void tick_curved() {
  const int16_t deflection = any_deflection();

  const int16_t curved = Follow::curved(deflection, any16_from(0, 256));

  require(deflection < 0 ? deflection <= curved && curved <= 0 : 0 <= curved && curved <= deflection);
}

// A place within the travel.
void tick_placed() {
  const Ship ship;
  const Follow follow(Deflection(Value(ship.stick, ship.low_end, ship.high_end), ship.centre),
                      ship.travel, Curve{ 0 }, any_bool() ? Turn::reverse : Turn::same,
                      StepPer256{ 1 }, ship.servo, Loss::off);

  const HalfUs width = follow.width_at(any_deflection());

  require(ship.travel.low <= width && width <= ship.travel.high);
}
