#include "pulses_in.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "clock.h"
#include "wiring.h"

namespace pulses_in {

using wiring::INPUT_PORTS;

Losses losses = { 0, 0 };

// ---- Written by the interrupt ----

// A ring of changes: when (2 bytes), and how the first two ports stood then. It fills a page of
// memory, so that the low byte of its address is all there is to count, and wraps round by itself.
// A third port has a page of its own behind it, one change further on. It lies where variables begin,
// which is the beginning of a page on every chip here: anywhere else, half a page on average would be
// lost before it.
constexpr uint8_t CHANGE_BYTES = 4;
constexpr uint16_t PAGE_BYTES = 256;
static volatile uint8_t ring[INPUT_PORTS > 2 ? 2 * PAGE_BYTES : PAGE_BYTES]
    __attribute__((section(".data"), aligned(256), used)) = { 0 };

// Where the next change will be written, and the oldest that has not been worked out. Nothing else
// uses these two registers, and they are quicker to reach than memory.
#define RING_HEAD GPIOR1
#define RING_TAIL GPIOR2

// Every cycle in here is one by which some other edge's time can be wrong. Hence assembler: 46
// cycles with one or two ports on the ATmega328P, of which 11 are the chip's way in and out.
// - One interrupt serves all inputs and looks at all ports, so that edges of different ports that
//   come together do not wait for one another twice. For the same reason it withdraws, just before
//   it looks, the requests of edges that it is about to see.
// - No instruction here changes a flag, so that SREG need not be saved.
// - If there is no room, the change is dropped and no more interrupts are allowed until the next
//   tick: noise can fill the ring once a tick, and never takes all of the processor.
ISR(WIRING_INPUT_VECTOR, ISR_NAKED) {
  asm volatile(
      ".macro look address          \n\t"  // ports beyond the first 32 can only be read like memory
      ".if \\address < 0x60         \n\t"
      "in   r24, \\address - 0x20   \n\t"
      ".else                        \n\t"
      "lds  r24, \\address          \n\t"
      ".endif                       \n\t"
      ".endm                        \n\t"

      "push r24                     \n\t"
      "push r30                     \n\t"
      "push r31                     \n\t"
      "in   r30, %[head]            \n\t"
      "ldi  r31, hi8(%[ring])       \n\t"
      "lds  r24, %[count]           \n\t"  // the low byte first: that holds the high byte still
      "st   Z+, r24                 \n\t"
      "lds  r24, %[count] + 1       \n\t"
      "st   Z+, r24                 \n\t"
      "ldi  r24, %[groups]          \n\t"
      "out  %[requests], r24        \n\t"
      "look %[pins0]                \n\t"
      "st   Z+, r24                 \n\t"
      ".if  %[ports] > 1            \n\t"
      "look %[pins1]                \n\t"
      ".endif                       \n\t"
      "st   Z+, r24                 \n\t"
      ".if  %[ports] > 2            \n\t"
      "ldi  r31, hi8(%[ring] + 256) \n\t"
      "look %[pins2]                \n\t"
      "st   Z, r24                  \n\t"
      ".endif                       \n\t"
      "in   r24, %[tail]            \n\t"
      "cpse r30, r24                \n\t"
      "rjmp 1f                      \n\t"
      "ldi  r24, 0                  \n\t"
      "sts  %[listening], r24       \n\t"
      "rjmp 2f                      \n\t"
      "1:                           \n\t"
      "out  %[head], r30            \n\t"
      "2:                           \n\t"
      "pop  r31                     \n\t"
      "pop  r30                     \n\t"
      "pop  r24                     \n\t"
      "reti                         \n\t"

      ".purgem look                 \n\t"
      :
      : [head] "I"(_SFR_IO_ADDR(RING_HEAD)), [tail] "I"(_SFR_IO_ADDR(RING_TAIL)), [ring] "i"(ring),
        [count] "n"(_SFR_MEM_ADDR(TCNT1)),
        [listening] "n"(_SFR_MEM_ADDR(PCICR)), [requests] "I"(_SFR_IO_ADDR(PCIFR)),
        [groups] "n"(wiring::INPUT_GROUPS), [ports] "n"(INPUT_PORTS),
        [pins0] "n"(_SFR_MEM_ADDR(WIRING_INPUT_0)),
        [pins1] "n"(_SFR_MEM_ADDR(WIRING_INPUT_1)),
        [pins2] "n"(_SFR_MEM_ADDR(WIRING_INPUT_2)));
}
#ifdef WIRING_INPUT_VECTOR_1
ISR(WIRING_INPUT_VECTOR_1, ISR_ALIASOF(WIRING_INPUT_VECTOR));
#endif
#ifdef WIRING_INPUT_VECTOR_2
ISR(WIRING_INPUT_VECTOR_2, ISR_ALIASOF(WIRING_INPUT_VECTOR));
#endif

// ---- Worked out by the main loop ----

struct Change {
  uint16_t time;
  uint8_t levels[3];
};

// The inputs of one port, a bit each.
struct Port {
  uint8_t levels;    // as last seen
  uint8_t open;      // a pulse has begun
  uint8_t old;       // it had begun when the tick before this one ended
  uint8_t too_long;  // it had begun a tick before that
};

static Port ports[INPUT_PORTS];
static uint16_t began_at[INPUTS];

static void close(SeenPulse pulse, Pulses& into) {
  if (into.count < PULSES_MAX) {
    into.pulse[into.count] = pulse;
    ++into.count;
  } else if (losses.pulses < 0xFFFF) {
    ++losses.pulses;
  }
}

static void take(uint8_t index, uint8_t levels, uint16_t time, Pulses& into) {
  Port& port = ports[index];
  uint8_t changed = static_cast<uint8_t>((levels ^ port.levels) & wiring::input_pins[index]);
  uint8_t began = static_cast<uint8_t>(changed & levels);
  if (wiring::SUM_SIGNAL) {
    // Of its edges only those of one kind count: each ends a place and begins the next.
    const uint8_t sum = static_cast<uint8_t>(changed & wiring::sum_pins[index]);
    const uint8_t counts = static_cast<uint8_t>(sum & (levels ^ wiring::sum_falls[index]));
    changed = static_cast<uint8_t>((changed & ~sum) | counts);
    began = static_cast<uint8_t>((began & ~sum) | counts);
  }
  port.levels = levels;
  if (changed == 0) {
    return;
  }
  uint8_t ended = static_cast<uint8_t>(changed & port.open);
  uint8_t too_long = port.too_long;
  const uint8_t others = static_cast<uint8_t>(~changed);
  port.open = static_cast<uint8_t>((port.open & others) | began);
  port.old = static_cast<uint8_t>(port.old & others);
  port.too_long = static_cast<uint8_t>(port.too_long & others);

  for (const uint8_t* place = wiring::input_places[index]; changed != 0; ++place) {
    if ((changed & 1u) != 0) {
      const uint8_t input = from_flash(place);
      if ((ended & 1u) != 0) {
        const bool lost_count = (too_long & 1u) != 0;
        close({ input, lost_count ? TOO_LONG : clock::between(began_at[input], time) }, into);
      }
      if ((began & 1u) != 0) {
        began_at[input] = time;
      }
    }
    changed = static_cast<uint8_t>(changed >> 1);
    began = static_cast<uint8_t>(began >> 1);
    ended = static_cast<uint8_t>(ended >> 1);
    too_long = static_cast<uint8_t>(too_long >> 1);
  }
}

// A time stamp says when within a turn, not which turn: a pulse of 21 ms would look like one of 1
// ms. So what has been open over two ends of ticks, and is longer than a tick, is marked as too
// long.
static void grow_older() {
  for (uint8_t i = 0; i != INPUT_PORTS; ++i) {
    ports[i].too_long = ports[i].old;
    ports[i].old = ports[i].open;
  }
}

static Change change_at(uint8_t place) {
  Change change;
  change.time = static_cast<uint16_t>(ring[place] | ring[place + 1u] << 8);
  change.levels[0] = ring[place + 2u];
  change.levels[1] = ring[place + 3u];
  if (INPUT_PORTS > 2) {
    change.levels[2] = ring[PAGE_BYTES + static_cast<uint8_t>(place + CHANGE_BYTES)];
  }
  return change;
}

// Forgets the pulses that have begun, for their ends may have been missed, and listens from here
// on.
static void listen() {
  RING_TAIL = RING_HEAD;
  for (uint8_t i = 0; i != INPUT_PORTS; ++i) {
    ports[i] = Port{ wiring::input_levels(i), 0, 0, 0 };
  }
  wiring::enable_inputs();
}

void start() { listen(); }
void forget() { listen(); }

// Kept out of decode_one, so that asking in vain costs no more than asking.
__attribute__((noinline)) static void decode_oldest(Pulses& into) {
  const uint8_t place = RING_TAIL;
  const Change change = change_at(place);
  RING_TAIL = static_cast<uint8_t>(place + CHANGE_BYTES);
  for (uint8_t i = 0; i != INPUT_PORTS; ++i) {
    take(i, change.levels[i], change.time, into);
  }
}

void decode_one(Pulses& into) {
  if (RING_TAIL != RING_HEAD) {
    decode_oldest(into);
  }
}

void decode_rest(Pulses& into) {
  const uint8_t end = RING_HEAD;
  while (RING_TAIL != end) {
    decode_oldest(into);
  }
  grow_older();
  if (PCICR == 0) {  // the ring ran over
    if (losses.overflows < 0xFFFF) {
      ++losses.overflows;
    }
    listen();
  }
}

}  // namespace pulses_in
