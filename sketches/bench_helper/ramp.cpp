#include "ramp.h"

#include <math.h>

namespace {

const uint32_t LONGEST_RAMP = 100000000; // more intervals than a leg can have

// Smallest k with sqrt(start^2 + 2 gain k) >= run.
uint32_t intervals_to(uint32_t start, uint32_t run, uint32_t gain) {
    if (run <= start)
        return 0;
    uint64_t rise = (uint64_t)run * run - (uint64_t)start * start;
    uint64_t index = (rise + 2 * (uint64_t)gain - 1) / (2 * (uint64_t)gain);
    return index > LONGEST_RAMP ? LONGEST_RAMP : (uint32_t)index;
}

} // namespace

void Ramp::begin(uint32_t steps, uint32_t start, uint32_t run, uint32_t gain) {
    start_rate = start < run ? start : run;
    run_rate = run;
    left = steps;
    ramp_index = 0;
    cruise_index = intervals_to(start_rate, run, gain);
    start_squared = (float)start_rate * (float)start_rate;
    gain_now = (float)gain;
    start_index = (uint32_t)(start_squared / (2.0f * gain_now));
    rate_now = start_rate;
    cruise_cycles = CYCLES_PER_SECOND / run;
    cruise_fraction = (uint32_t)(((uint64_t)(CYCLES_PER_SECOND % run) << 24) / run);
    fraction_carried = 0;
    known_index = 0;
    known_rate = (float)start_rate;
    first = true;
}

uint8_t Ramp::slice_steps(uint32_t most) const {
    uint32_t steps = 1 + (rate_now >> 10); // about a millisecond's worth
    if (steps > 200)
        steps = 200;
    return (uint8_t)(steps < most ? steps : most);
}

uint8_t Ramp::ramp_steps(uint32_t index, uint32_t most) const {
    uint32_t gentle = 1 + (start_index + index) / 4; // the rate may change by an eighth within a slice
    return slice_steps(gentle < most ? gentle : most);
}

float Ramp::rate_at(uint32_t index) {
    if (index != known_index) {
        known_index = index;
        float rate = sqrtf(start_squared + 2.0f * gain_now * (float)index);
        known_rate = rate < (float)run_rate ? rate : (float)run_rate;
    }
    return known_rate;
}

uint32_t Ramp::ramp_cycles(uint32_t from_index, uint32_t to_index) {
    float both = rate_at(from_index);
    both += rate_at(to_index);
    rate_now = (uint32_t)(both * 0.5f);
    float steps = from_index < to_index ? (float)(to_index - from_index) : (float)(from_index - to_index);
    return (uint32_t)((float)CYCLES_PER_SECOND * 2.0f * steps / both + 0.5f);
}

uint32_t Ramp::cruise(uint8_t steps) {
    rate_now = run_rate;
    fraction_carried += steps * cruise_fraction; // at most 200 * 2^24 + 2^24: fits 32 bits
    uint32_t cycles = steps * cruise_cycles + (fraction_carried >> 24);
    fraction_carried &= 0xFFFFFF;
    return cycles;
}

bool Ramp::next(Slice &slice) {
    if (left == 0)
        return false;
    if (first) {
        // the wait before the first step is as long as the ramp's first interval, and outside it
        first = false;
        slice.steps = 1;
        slice.cycles = cruise_index ? ramp_cycles(0, 1) : cruise(1);
        known_index = 0, known_rate = (float)start_rate;
    } else if (ramp_index + 1 > left) {
        uint32_t top = left - 1; // slowing down: the interval with n steps left, itself included, begins at k = n
        slice.steps = ramp_steps(top, left);
        slice.cycles = ramp_cycles(left, left - slice.steps);
        ramp_index = left - slice.steps;
    } else if (ramp_index >= cruise_index) {
        slice.steps = slice_steps(left - cruise_index);
        slice.cycles = cruise(slice.steps);
    } else {
        uint32_t to_cruise = cruise_index - ramp_index;
        uint32_t to_middle = (left - ramp_index + 1) / 2;
        slice.steps = ramp_steps(ramp_index, to_cruise < to_middle ? to_cruise : to_middle);
        slice.cycles = ramp_cycles(ramp_index, ramp_index + slice.steps);
        ramp_index += slice.steps;
    }
    left -= slice.steps;
    return true;
}

void Ramp::ease() {
    if (ramp_index < left)
        left = ramp_index;
}

uint32_t Ramp::slow_down_ms() const {
    float seconds = (float)(rate_now - start_rate) / gain_now;
    return rate_now <= start_rate ? 0 : (uint32_t)(seconds * 1000.0f) + 1;
}

uint32_t Ramp::duration_ms(uint32_t steps, uint32_t start, uint32_t run, uint32_t gain) {
    if (start > run)
        start = run;
    uint32_t between = steps - 1; // intervals between steps; one more comes before the first
    uint32_t ramp = intervals_to(start, run, gain);
    float slowest = (float)start, top = (float)run, twice_gain = 2.0f * (float)gain;
    if (2 * ramp > between) {
        ramp = between / 2;
        top = sqrtf(slowest * slowest + twice_gain * (float)ramp);
    }
    float first = intervals_to(start, run, gain) ? sqrtf(slowest * slowest + twice_gain) : slowest;
    first = first < (float)run ? first : (float)run;
    float seconds = 2.0f / (slowest + first) + (float)(between - 2 * ramp) / top;
    if (ramp)
        seconds += 2.0f * (top - slowest) / (float)gain;
    return (uint32_t)(seconds * 1000.0f + 0.5f);
}
