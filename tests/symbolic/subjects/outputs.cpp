#include "parts.h"

#include "logic/digest.h"

bool is_line(const void* row) {
  const Line& line = *static_cast<const Line*>(row);
  return line.byte < LINE_BYTES;
}

void tick_line() {
  const uint8_t index = any8_to(8 * LINE_BYTES - 1);
  const Line made = line(index);
  require(made.byte < LINE_BYTES && made.byte == index / 8 && made.bit == 1 << index % 8);
}

void tick_set_each() {
  const uint8_t count = any8_to(OUTPUTS_MOST);
  const Line* lines = static_cast<const Line*>(any_table(count, sizeof(Line), is_line));
  Outputs outputs;
  make_any(outputs);

  outputs.set_each(lines, count, any8());
}

struct Remembered {
  uint16_t words[3];
};

void tick_digest() {
  Remembered remembered;
  make_any(remembered);
  Digest digest;

  digest.add(remembered);

  const uint32_t sum = 0ul + remembered.words[0] + remembered.words[1] + remembered.words[2];
  require((digest.value() & 0xFFFFu) == (sum & 0xFFFFu));
}

struct Much {
  uint16_t words[300];
};

void tick_much() {
  const Much much = {};  // what is in it does not say where it is looked at
  Digest digest;

  digest.add(much);
}
