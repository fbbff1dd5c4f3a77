#include "lights.h"

#include "wiring.h"

namespace lights {

// The outputs are inverted: low from the start of a turn to the compare, high behind it. So 255 is
// dark for good, without the sliver of light that the smallest duty would be the other way round.
static uint8_t dark_for(uint8_t duty) { return static_cast<uint8_t>(255u - duty); }

// As with servos (servos.cpp), an edge's interrupt may come between the two bytes.
static void set_wide(volatile uint16_t* compare, uint8_t dark) {
  do {
    *compare = dark;
  } while (*compare != dark);
}

static void set(const uint8_t* duties) {
  for (uint8_t i = 0; i != wiring::NARROW_LIGHTS; ++i) {
    const wiring::NarrowLight& light = wiring::narrow_lights[i];
    *from_flash(&light.compare) = dark_for(duties[from_flash(&light.light)]);
  }
  for (uint8_t i = 0; i != wiring::WIDE_LIGHTS; ++i) {
    const wiring::WideLight& light = wiring::wide_lights[i];
    set_wide(from_flash(&light.compare), dark_for(duties[from_flash(&light.light)]));
  }
}

void start() {
  const uint8_t all_dark[LIGHT_SLOTS] = { 0 };
  set(all_dark);
  wiring::start_lights();
}

void write(const Outputs& outputs) { set(outputs.levels); }

}  // namespace lights
