#include "outputs.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "pins.h"
#include "signals.h"

namespace outputs {
namespace {

volatile bool lines_on;

// A macro would do the same; always inlined, so that it can run before there is a stack.
ALWAYS_INLINE void write_all_off() {
    pins::set(ENABLE_PIN, !ENABLE_ACTIVE);
    if (COIL_ACTIVE)
        pins::output(COIL_1_PIN) &= (uint8_t)~pins::COIL_MASK;
    else
        pins::output(COIL_1_PIN) |= pins::COIL_MASK;
    pins::set(STEP_PIN, false);
}

} // namespace

// Some twenty cycles after the reset vector, before memory is cleared: levels first, then the lines become outputs. Until
// then they are inputs, as after any reset.
extern "C" __attribute__((used, externally_visible, noinline)) void outputs_safe_from_the_start() {
    write_all_off();
    pins::direction(ENABLE_PIN) |= pins::mask(ENABLE_PIN);
    pins::direction(COIL_1_PIN) |= pins::COIL_MASK;
    pins::direction(STEP_PIN) |= pins::mask(STEP_PIN);
    pins::direction(DIR_PIN) |= pins::mask(DIR_PIN);
}

// A naked function may hold nothing but plain assembly. 4 cycles, 5 with the larger program counter, and what it calls.
__attribute__((naked, used, section(".init3"))) static void before_memory_is_cleared() {
    __asm__ __volatile__("call outputs_safe_from_the_start\n");
}

void all_off() {
    uint8_t before = SREG; // may be called in an interrupt, too
    cli();
    write_all_off();
    lines_on = false;
    SREG = before;
}

void enable_driver() {
    cli();
    if (!SIGNAL_IS_SET(STOP_ASKED)) {
        pins::set(ENABLE_PIN, ENABLE_ACTIVE);
        lines_on = true;
    }
    sei();
}

bool on() { return lines_on; }

void set_direction(bool positive) {
    cli();
    pins::set(DIR_PIN, positive);
    sei();
}

void show_pattern(uint8_t pattern) {
    static const uint8_t MASKS[4] = { pins::mask(COIL_1_PIN), pins::mask(COIL_2_PIN), pins::mask(COIL_3_PIN),
                                      pins::mask(COIL_4_PIN) };
    uint8_t bits = 0;
    for (uint8_t line = 0; line < 4; line++)
        if (pattern >> line & 1)
            bits |= MASKS[line];
    if (!COIL_ACTIVE)
        bits = pins::COIL_MASK & (uint8_t)~bits;
    cli();
    if (!SIGNAL_IS_SET(STOP_ASKED)) {
        change_coils(bits, true);
        lines_on = pattern != 0;
    }
    sei();
}

} // namespace outputs
