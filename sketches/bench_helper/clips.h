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

} // namespace clips
