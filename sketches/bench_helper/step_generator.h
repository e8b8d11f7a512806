// Makes the steps: Timer1 compares, one interrupt a step, intervals taken from a queue of records that the
// main loop keeps filled. Nothing is computed in the interrupt but a countdown.
#pragma once

#include <stdint.h>

#include "bounds.h"
#include "ramp.h"

namespace step_generator {

void set_up();

// STEP is high for at least this long. Returns the cycles it will really be, in the shortest case.
uint16_t set_high_cycles(uint16_t cycles);

// Steps change the coil pattern from now on (or pulse STEP again).
void step_coils(Form form);
void step_driver();
uint8_t coil_phase();

// A leg of motion: prepare, push slices until there is no room, start, keep pushing. `least_wait` cycles pass
// before the first step.
void prepare(int8_t sign, uint16_t least_wait);
bool has_room();
void push(const Slice &slice);
void start();    // not while a stop waits to be taken
bool running();  // false when the queue ran empty or halt() was called
void halt();     // no more steps, at once
bool was_late(); // since prepare()

// One instant: position, steps queued after it, and the interval under way in cycles.
struct Instant {
    int32_t position;
    uint32_t queued, interval;
};
Instant instant();
int32_t position();
void set_position(int32_t position);

// Index edges since the last call; positions of the latest falling and rising edge.
struct Edges {
    uint8_t count;
    bool level; // after the latest edge
    bool fell, rose;
    int32_t fall_position, rise_position;
};
Edges take_edges();

} // namespace step_generator
