// The leads of a motor on clips: each on a digital pin through 220 ohm and on an analogue one, with 100 kohm to ground. A
// pair is driven for as long as it is measured and no longer.
#pragma once

#include <stdint.h>

#include "pins.h"

namespace clips {

enum class Found : uint8_t {
    measured,
    volt,    // a clip has voltage with nothing driven: a supply, or a shaft that turns
    stopped, // the stop byte came
    wire,    // its pull-up doesn't do what it does with the jig alone: something else is on the pin, or a part is missing
};

struct Measured {
    Found found;
    uint8_t at;                   // which clip, where it isn't measured
    uint16_t sums[pins::CLIPS];   // of each clip: MOST_SAMPLES readings; where refused `sums[0]` is what was read
};

// Drives clip `high` to the supply and clip `low` to ground, waits until the current stands, reads every clip, lets go.
// Takes up to LONGEST_PAIR_MS; the stop byte lets go at once.
void measure(uint8_t high, uint8_t low, Measured &measured);

struct Rise {
    uint8_t high, low, see; // clips
    uint8_t hold;           // one more that is held to ground; `low` for none
    uint16_t at;            // cycles
};

// As a pair is measured, but `see` is read as the current rises: `asked.at` cycles after `high` went to the supply. The sum
// of RISES of them, each begun without current, comes in `measured.sums[0]`, the cycles in `asked.at` as they were.
// Takes up to LONGEST_RISE_MS.
const uint8_t RISES = 16;
void watch_rise(Rise &asked, Measured &measured);

} // namespace clips
