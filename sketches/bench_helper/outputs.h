// The lines that can move a motor: off from the first instruction on, and whenever in doubt.
#pragma once

#include <avr/io.h>
#include <stdint.h>
#include <util/delay_basic.h>

#include "pins.h"

namespace outputs {

void all_off();
// Nothing is switched on while a stop waits to be taken.
void enable_driver();
bool on();

// The leads of a motor on clips: the pins are lent to them, inputs but for the pair that is driven.
uint8_t clip_pin(uint8_t clip); // as printed on the board
void lend_to_clips(bool lend);
void pull_clips(bool up);
void drive_clip(uint8_t clip, bool level);
void let_clips_go();
// Clip `clip`, an output that is low, goes high; returns what Timer1 counted two cycles later. Interrupts are off.
uint16_t raise_clip(uint8_t clip);

void set_direction(bool positive);
void show_pattern(uint8_t pattern); // bit 0 = coil 1 ... bit 3 = coil 4

// Puts `bits` on the coils' port; interrupts must be off. With `pause`, lines that go off do so 2.5 to 5 us before others go
// on: a bridge whose two sides changed in one instant would short its supply.
ALWAYS_INLINE void change_coils(uint8_t bits, bool pause) {
    volatile uint8_t &port = pins::output(COIL_1_PIN);
    uint8_t before = port;
    if (pause) {
        port = COIL_ACTIVE ? before & (uint8_t)(bits | (uint8_t)~pins::COIL_MASK) : before | bits;
        _delay_loop_1(13); // 39 cycles
    }
    port = (uint8_t)(before & (uint8_t)~pins::COIL_MASK) | bits;
}

} // namespace outputs
