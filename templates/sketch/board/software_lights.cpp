#include "software_lights.h"

#include <avr/io.h>

#include "clock.h"
#include "wiring.h"

namespace software_lights {

using wiring::SOFTWARE_LIGHTS;

// A change nearer than this is waited for. Together with the decoding of one change of the receiver's
// it is shorter than what software servos allow for (software_servos.cpp).
constexpr uint16_t NEAR_HALF_US = 60;

constexpr uint8_t STEP_HALF_US = 39;  // 1/256 of a tick
constexpr uint8_t FULL = 255;

struct Edge {
  uint16_t at;
  volatile uint8_t* flip;  // PINx: writing a bit there flips that pin and leaves the others
  uint8_t pin;
};

static Edge edges[SOFTWARE_LIGHTS + 1];  // in the order of time; an array has at least one place
static uint8_t planned = 0;
static uint8_t placed = 0;

static void plan(Edge edge, uint16_t now) {
  const uint16_t ahead = clock::between(now, edge.at);
  uint8_t i = planned;
  while (i != placed && clock::between(now, edges[i - 1u].at) > ahead) {
    edges[i] = edges[i - 1u];
    --i;
  }
  edges[i] = edge;
  ++planned;
}

// A dark light is on for a short while from now, a bright one off: so both changes come within half
// a tick, and the work of a tick, when nobody looks at the clock, falls in what is left.
void begin(const Outputs& outputs) {
  if (SOFTWARE_LIGHTS == 0) {
    return;
  }
  planned = 0;
  placed = 0;
  const uint16_t now = clock::now();
  for (uint8_t i = 0; i != SOFTWARE_LIGHTS; ++i) {
    const wiring::SoftwareLight light = from_flash(&wiring::software_lights[i]);
    const uint8_t duty = outputs.levels[light.light];
    const bool dark = duty < 128u;
    const bool high = duty == FULL || (dark && duty != 0);
    *light.flip = static_cast<uint8_t>((*light.level ^ (high ? light.pin : 0u)) & light.pin);
    if (duty != 0 && duty != FULL) {
      const uint8_t steps = static_cast<uint8_t>(dark ? duty : 0u - duty);
      const uint16_t wait = static_cast<uint16_t>(steps * STEP_HALF_US);
      plan(Edge{ clock::after(clock::now(), wait), light.flip, light.pin }, now);
    }
    place_edges();  // the shortest are over before the last has begun
  }
}

void place_edges() {
  if (SOFTWARE_LIGHTS == 0) {
    return;
  }
  while (placed != planned) {
    const Edge& edge = edges[placed];
    uint16_t ahead;
    do {
      ahead = clock::between(clock::now(), edge.at);
      if (ahead > NEAR_HALF_US && ahead < clock::TURN_HALF_US / 2u) {
        return;
      }
    } while (ahead != 0 && ahead <= NEAR_HALF_US);
    *edge.flip = edge.pin;
    ++placed;
  }
}

}  // namespace software_lights
