#include "parts.h"

#include "behaviours/pulse.h"

bool is_sound(const Pulse::Memory& memory, Ticks duration) { return memory.left <= duration; }

void tick() {
  Control control;
  make_any_control(control);
  const Line drives = any_line();
  const Ticks duration = any32_to(TICKS_MOST);
  const Loss loss = any_loss();
  const Pulse pulse(Ask(control, any8(), any8()), OnTicks{ duration }, drives, loss);
  Pulse::Memory memory;
  require(is_sound(memory, duration));
  memory.on = any_bool();
  memory.ready = any_bool();
  memory.left = any32();
  assume(is_sound(memory, duration));
  const Ticks left = memory.left;
  Outputs outputs;
  make_any(outputs);
  const Outputs before = outputs;
  const Barred barred = any16();
  bool is_barred = false;
  const SomeForce force(2, &is_barred);

  run(pulse, memory, outputs, barred, force);

  require(is_sound(memory, duration));
  require(is_on(outputs, drives) == memory.on);
  require(lines_kept(before, outputs, drives, drives));
  require(!(memory.on && (barred >> 1 & 1u) != 0));
  require(memory.on || memory.left == 0);
  // Whatever a thumb does: it is over when its time is.
  const bool lost = control.lost();
  require(lost || force.exists() || memory.left < left || left <= 1);
}
