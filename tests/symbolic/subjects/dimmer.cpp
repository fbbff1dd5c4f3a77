#include "parts.h"

#include "behaviours/dimmer.h"

constexpr uint16_t WHOLE = 255u << 8;

// What tick_scaled proves, in place of what it proves it of.
uint8_t instead_of_Brightness_scaled(HalfUs, HalfUs, HalfUs, uint32_t) { return any8(); }
uint32_t instead_of_Brightness_scale(HalfUs) { return any32(); }

bool is_sound(const Dimmer::Memory& memory) { return memory.level <= WHOLE; }

void make_any_memory(Dimmer::Memory& memory) {
  memory.so = any_bool();
  memory.on = any_bool();
  memory.ready = any_bool();
  memory.brightness = any8();
  memory.level = any16();
  memory.hold_ticks = any8();
  memory.shine = any8();
  memory.drawn = any16();
  assume(is_sound(memory));
}

void tick() {
  Control control;
  make_any_control(control);
  Proportional knob;
  make_any_stick(knob);
  const HalfUs low_end = any16_from(WIDTH_LEAST, WIDTH_MOST);
  const HalfUs high_end = any16_from(WIDTH_LEAST, WIDTH_MOST);
  assume(high_end >= low_end + KNOB_REACH_LEAST);
  Brightness brightness(any8());
  if (any_bool()) {
    brightness = Brightness(Value(knob, low_end, high_end));
  }
  const When when = static_cast<When>(any8_to(3));
  Ask ask;
  if (when == When::pressed || when == When::held) {
    ask = Ask(control, any8(), any8());
  }
  const FadePer256 fade = { any16_from(1, WHOLE), any16_from(1, WHOLE) };
  const Flicker flicker = { any8_to(FLICKER_LEAST_MOST), any8_to(FLICKER_SPREAD_MOST), any8_to(8),
                            any8(), any16() };
  const Light light = { any8_to(LIGHT_SLOTS - 1) };
  const Dimmer dimmer(Trigger(when, ask), brightness, fade, flicker, light, any_loss());
  Dimmer::Memory memory(dimmer);
  require(is_sound(memory));
  make_any_memory(memory);
  const uint16_t level = memory.level;
  Outputs outputs;
  make_any(outputs);
  const Barred barred = any16();
  bool is_barred = false;
  const SomeForce force(2, &is_barred);

  run(dimmer, memory, outputs, barred, force);

  require(is_sound(memory));
  require(memory.level <= level || memory.level - level <= fade.up);
  require(memory.level >= level || level - memory.level <= fade.down);
  require((barred >> 1 & 1u) == 0 || memory.level <= level);
}

// The scale is the next whole number above 255 * 65536 / span: a whole division and what is left of it.
void tick_scaled() {
  const HalfUs low_end = any16_from(WIDTH_LEAST, WIDTH_MOST);
  const HalfUs high_end = any16_from(WIDTH_LEAST, WIDTH_MOST);
  assume(high_end >= low_end + KNOB_REACH_LEAST);
  const uint32_t span = static_cast<uint32_t>(high_end - low_end);
  const uint32_t scale = any32_to((255ul << 16) / KNOB_REACH_LEAST + 1);
  assume(scale * span < (255ul << 16) + span);
  const HalfUs value = any16_from(0, WIDTH_MOST);
  // Of two factors, the smaller one makes the smaller product; both fit.
  assume(value <= low_end || value > high_end || (value - low_end) * scale <= span * scale);

  Brightness::scaled(value, low_end, high_end, scale);
}

void tick_scale() {
  Brightness::scale(any16_from(KNOB_REACH_LEAST, WIDTH_MOST));
}

// The generator never comes to 0, where it would stay.
void tick_draw() {
  const Brightness full(255);
  const Flicker flicker = { any8_to(FLICKER_LEAST_MOST), any8_to(FLICKER_SPREAD_MOST), any8_to(8),
                            any8(), any16() };
  const Dimmer dimmer(Trigger(When::always), full, FadePer256{ 1, 1 }, flicker, Light{ 0 },
                      Loss::off);
  Dimmer::Memory memory(dimmer);
  memory.drawn = any16();
  assume(memory.drawn != 0);

  Dimmer::draw(memory, flicker.least_ticks, flicker.spread_ticks, flicker.dark_of_8,
               flicker.dimmest);

  require(memory.drawn != 0);
  require(memory.shine == 0 || memory.shine >= flicker.dimmest);
}

void tick_recall() {
  const Brightness full(255);
  const Dimmer dimmer(Trigger(When::always), full, FadePer256{ 1, 1 }, NO_FLICKER, Light{ 0 },
                      Loss::off);
  Dimmer::Memory memory(dimmer);
  const uint8_t kept = any8();

  dimmer.recall(&kept, memory);

  require(is_sound(memory));
}
