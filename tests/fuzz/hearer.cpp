// The sketch's Hearer under the compiler's sanitizers: for each piece (four bytes of length, the lowest
// first, then so many bytes) one that is fresh out of reset hears it, and a dot says that it bore it.
#include <cstdio>

#include "src/link/hearer.h"

static long length_of_next() {
  long length = 0;
  for (int shift = 0; shift != 32; shift += 8) {
    const int byte = std::getchar();
    if (byte == EOF) return -1;
    length |= static_cast<long>(byte) << shift;
  }
  return length;
}

static unsigned long looked_at(const Hearer& hearer) {
  unsigned long sum = hearer.number() + static_cast<unsigned long>(hearer.word());
  for (uint8_t i = 0; i != hearer.arguments(); ++i) {
    sum += hearer.argument(i).value + static_cast<unsigned char>(hearer.argument(i).letter);
  }
  return sum;
}

int main() {
  unsigned long sum = 0;
  for (long length; (length = length_of_next()) >= 0;) {
    Hearer hearer;
    for (; length != 0; --length) {
      if (hearer.hear(static_cast<uint8_t>(std::getchar())) == Hearer::Heard::line) sum += looked_at(hearer);
    }
    std::putchar('.');
    std::fflush(stdout);
  }
  return sum == 0xFFFFFFFFUL ? 1 : 0;  // so that nothing of it is left out
}
