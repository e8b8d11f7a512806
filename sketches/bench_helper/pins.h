// Board pin numbers to ports, worked out by the compiler, so that a pin write is one instruction.
#pragma once

#include <avr/io.h>
#include <stdint.h>

#include "board_config.h"

namespace pins {

struct Place {
    char port;
    uint8_t bit;
};

#if PINS_OF_THE_LARGE_BOARD
constexpr char PORTS[] = "EEEEGEHHHHBBBBJJHHDDDDAAAAAAAACCCCCCCCDGGGLLLLLLLLBBBBFFFFFFFFKKKKKKKK";
constexpr char BITS[] = "0145533456456710103210012345677654321072107654321032100123456701234567";
constexpr int FIRST_ANALOG_PIN = 54;
constexpr int ANALOG_CHANNELS = 16;
constexpr bool on_index_interrupt(int pin) { return pin == 2 || pin == 3; } // INT4, INT5
constexpr uint8_t INDEX_INTERRUPT = INDEX_PIN == 2 ? 4 : 5;
#define INDEX_SENSE_REGISTER EICRB
#if defined(__AVR_ATmega2560__)
#define CHIP_NAME "atmega2560"
#else
#define CHIP_NAME "atmega1280"
#endif
#elif defined(__AVR_ATmega328P__) || defined(__AVR_ATmega328__)
constexpr char PORTS[] = "DDDDDDDDBBBBBBCCCCCC";
constexpr char BITS[] = "01234567012345012345";
constexpr int FIRST_ANALOG_PIN = 14;
constexpr int ANALOG_CHANNELS = 6;
constexpr bool on_index_interrupt(int pin) { return pin == 2 || pin == 3; } // INT0, INT1
constexpr uint8_t INDEX_INTERRUPT = INDEX_PIN == 2 ? 0 : 1;
#define INDEX_SENSE_REGISTER EICRA
#define CHIP_NAME "atmega328p"
#else
#error "this sketch is for boards with an ATmega328P, ATmega2560 or ATmega1280"
#endif
static_assert(F_CPU == 16000000, "all times are counted in cycles of 16 MHz");

constexpr uint8_t INDEX_SENSE_BIT = (INDEX_INTERRUPT & 3) * 2; // any edge: 01 in this pair of bits

constexpr Place place(int pin) { return Place{ PORTS[pin], (uint8_t)(BITS[pin] - '0') }; }
constexpr uint8_t mask(int pin) { return (uint8_t)(1 << (BITS[pin] - '0')); }

// Data-space address of the PIN register; DDR and PORT follow it.
constexpr uint16_t pin_register(char port) {
    return port == 'A'   ? 0x20
           : port == 'B' ? 0x23
           : port == 'C' ? 0x26
           : port == 'D' ? 0x29
           : port == 'E' ? 0x2C
           : port == 'F' ? 0x2F
           : port == 'G' ? 0x32
           : port == 'H' ? 0x100
           : port == 'J' ? 0x103
           : port == 'K' ? 0x106
                         : 0x109;
}
constexpr bool single_instruction(int pin) { return pin_register(PORTS[pin]) < 0x40; }

#define ALWAYS_INLINE inline __attribute__((always_inline)) // or the constant pin would be looked up at run time

ALWAYS_INLINE volatile uint8_t &input(int pin) { return *(volatile uint8_t *)pin_register(PORTS[pin]); }
ALWAYS_INLINE volatile uint8_t &direction(int pin) { return *(volatile uint8_t *)(pin_register(PORTS[pin]) + 1); }
ALWAYS_INLINE volatile uint8_t &output(int pin) { return *(volatile uint8_t *)(pin_register(PORTS[pin]) + 2); }

ALWAYS_INLINE void set(int pin, bool level) {
    if (level)
        output(pin) |= mask(pin);
    else
        output(pin) &= (uint8_t)~mask(pin);
}
ALWAYS_INLINE bool level(int pin) { return input(pin) & mask(pin); }

constexpr int CLIPS = sizeof CLIP_PINS / sizeof *CLIP_PINS;
constexpr uint8_t COIL_MASK = mask(COIL_1_PIN) | mask(COIL_2_PIN) | mask(COIL_3_PIN) | mask(COIL_4_PIN);

static_assert(single_instruction(STEP_PIN), "STEP_PIN must be on a port with single-instruction access");
static_assert(single_instruction(INDEX_PIN) && on_index_interrupt(INDEX_PIN), "INDEX_PIN must be 2 or 3");
static_assert(PORTS[COIL_1_PIN] == PORTS[COIL_2_PIN] && PORTS[COIL_1_PIN] == PORTS[COIL_3_PIN]
                  && PORTS[COIL_1_PIN] == PORTS[COIL_4_PIN],
              "the four coil pins must be on one port");
// The main loop writes DIR and ENABLE with two instructions where their port is out of reach of one; the
// step interrupt may then not write the same port.
static_assert(single_instruction(DIR_PIN) || PORTS[DIR_PIN] != PORTS[COIL_1_PIN], "DIR_PIN shares the coils' port");
static_assert(single_instruction(ENABLE_PIN) || PORTS[ENABLE_PIN] != PORTS[COIL_1_PIN],
              "ENABLE_PIN shares the coils' port");

constexpr int USED[] = { STEP_PIN, DIR_PIN, ENABLE_PIN, COIL_1_PIN, COIL_2_PIN, COIL_3_PIN, COIL_4_PIN, INDEX_PIN };
constexpr int USED_COUNT = sizeof USED / sizeof *USED;
constexpr bool on_board(int i) {
    return i == USED_COUNT || (USED[i] >= 0 && USED[i] < (int)sizeof PORTS - 1 && on_board(i + 1));
}
constexpr bool used_by_none(int pin, int i) { return i == USED_COUNT || (USED[i] != pin && used_by_none(pin, i + 1)); }
constexpr bool all_different(int i) { return i == USED_COUNT || (used_by_none(USED[i], i + 1) && all_different(i + 1)); }
static_assert(on_board(0), "the board has no such pin");
static_assert(all_different(0), "a pin is used twice");
static_assert(used_by_none(13, 0), "pin 13 is blinked by the boot loader");
static_assert(used_by_none(0, 0) && used_by_none(1, 0), "pins 0 and 1 are the serial line");
constexpr bool is_coil(int pin) {
    return pin == COIL_1_PIN || pin == COIL_2_PIN || pin == COIL_3_PIN || pin == COIL_4_PIN;
}
constexpr bool clip_alone(int i, int j) { return j == i || (CLIP_PINS[i] != CLIP_PINS[j] && clip_alone(i, j + 1)); }
constexpr bool clips_fit(int i) {
    return i == CLIPS
           || (CLIP_PINS[i] > 1 && CLIP_PINS[i] != 13 && CLIP_PINS[i] < FIRST_ANALOG_PIN && clip_alone(i, 0)
               && (is_coil(CLIP_PINS[i]) || used_by_none(CLIP_PINS[i], 0)) && clips_fit(i + 1));
}
static_assert(CLIPS >= 2 && CLIPS <= 8 && CLIPS <= ANALOG_CHANNELS, "2 to 8 clips, each with an analogue input");
static_assert(clips_fit(0), "a clip's pin is digital, used once, and not 0, 1, 13, STEP, DIR, ENABLE or the index");
static_assert((ENABLE_ACTIVE | 1) == 1 && (COIL_ACTIVE | 1) == 1, "a level is 0 or 1");
static_assert(BANDGAP_MILLIVOLT >= 900 && BANDGAP_MILLIVOLT <= 1300, "the bandgap reference is 1100 mV to within 10 %");

} // namespace pins
