// The sketch's Hearer on this computer: bytes on standard input, one line of what it makes of them for
// each that says something.
#include <cstdio>

#include "src/link/hearer.h"

static void tell(const Hearer& hearer) {
  std::printf("line %02X %d", hearer.number(), static_cast<int>(hearer.word()));
  for (uint8_t i = 0; i != hearer.arguments(); ++i) {
    const Argument& one = hearer.argument(i);
    std::printf(" %c%u", one.letter != 0 ? one.letter : '#', static_cast<unsigned>(one.value));
  }
  std::printf("\n");
}

int main() {
  Hearer hearer;
  int byte;
  while ((byte = std::getchar()) != EOF) {
    switch (hearer.hear(static_cast<uint8_t>(byte))) {
      case Hearer::Heard::nothing:
        break;
      case Hearer::Heard::bad:
        std::puts("bad");
        break;
      case Hearer::Heard::out_of_order:
        std::printf("order %02X\n", hearer.number());
        break;
      case Hearer::Heard::line:
        tell(hearer);
        break;
    }
  }
  return 0;
}
