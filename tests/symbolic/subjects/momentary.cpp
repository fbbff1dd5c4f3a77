#include "parts.h"

#include "behaviours/momentary.h"

void tick() {
  Control control;
  make_any_control(control);
  const Line drives = any_line();
  const Momentary momentary(Ask(control, any8(), any8()), drives, any_loss());
  Momentary::Memory memory;
  memory.on = any_bool();
  memory.ready = any_bool();
  Outputs outputs;
  make_any(outputs);
  const Outputs before = outputs;
  const Barred barred = any16();
  bool is_barred = false;
  const SomeForce force(2, &is_barred);

  run(momentary, memory, outputs, barred, force);

  require(momentary.state(memory) <= 1);
  require(is_on(outputs, drives) == memory.on);
  require(lines_kept(before, outputs, drives, drives));
  require(!(memory.on && (barred >> 1 & 1u) != 0));
}
