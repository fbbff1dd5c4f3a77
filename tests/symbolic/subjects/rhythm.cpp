#include "parts.h"

#include "behaviours/rhythm.h"

bool is_anything(const void*) { return true; }

bool is_sound(const Rhythm::Memory& memory, uint16_t count, After after) {
  return after == After::stop ? memory.phase <= count : memory.phase < count;
}

struct Ship {
  Control control;
  Phases phases;
  When when;
  Loss loss;
  Line drives;
  Ask ask;
  Ship()
      : phases{ nullptr, any16_from(1, PHASES_MOST), any_bool() ? Begins::on : Begins::off,
                static_cast<After>(any8_to(2)) },
        when(static_cast<When>(any8_to(3))),
        loss(any_loss()),
        drives(any_line()) {
    make_any_control(control);
    phases.ticks = static_cast<const uint16_t*>(any_table(phases.count, 2, is_anything));
    if (when == When::pressed || when == When::held) {
      ask = Ask(control, any8(), any8());
    }
  }
};

void tick() {
  const Ship ship;
  const Rhythm rhythm(Trigger(ship.when, ship.ask), ship.phases, ship.drives, ship.loss);
  Rhythm::Memory memory;
  require(is_sound(memory, ship.phases.count, ship.phases.after));
  memory.so = any_bool();
  memory.running = any_bool();
  memory.ready = any_bool();
  memory.on = any_bool();
  memory.phase = any16();
  memory.left_ticks = any16();
  assume(is_sound(memory, ship.phases.count, ship.phases.after));
  Outputs outputs;
  make_any(outputs);
  const Outputs before = outputs;
  const Barred barred = any16();
  bool is_barred = false;
  const SomeForce force(2, &is_barred);

  run(rhythm, memory, outputs, barred, force);

  require(is_sound(memory, ship.phases.count, ship.phases.after));
  require(rhythm.state(memory) <= 2);
  require(is_on(outputs, ship.drives) == memory.on);
  require(lines_kept(before, outputs, ship.drives, ship.drives));
  require(!(memory.on && (barred >> 1 & 1u) != 0));
}

void tick_recall() {
  const Ship ship;
  const Rhythm rhythm(Trigger(ship.when, ship.ask), ship.phases, ship.drives, ship.loss);
  Rhythm::Memory memory;
  const uint8_t kept = any8();

  rhythm.recall(&kept, memory);

  require(is_sound(memory, ship.phases.count, ship.phases.after));
}
