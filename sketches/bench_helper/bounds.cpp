#include "bounds.h"

namespace {

// A step that an interrupt holds up comes nearer to the next one (measured: 30 cycles at most); the rest of this
// is the processor's own share: the step interrupt and planning.
const uint16_t LATENESS_CYCLES = 79;
// The step interrupt beside its pulse, and the share of the processor that planning needs.
const uint16_t INTERRUPT_CYCLES = 60;

} // namespace

uint16_t cycles_for_ns(uint32_t ns) { return (uint16_t)((ns * 2 + 124) / 125); }

uint32_t ns_of_cycles(uint16_t cycles) { return (uint32_t)cycles * 125 / 2; }

int32_t highest_rate(uint16_t high_cycles, uint16_t low_cycles) {
    uint16_t by_pulse = (uint16_t)(high_cycles + low_cycles + LATENESS_CYCLES);
    uint16_t by_planning = (uint16_t)((high_cycles + INTERRUPT_CYCLES) * 3u / 2u);
    int32_t rate = (int32_t)(CYCLES_PER_SECOND / (by_pulse > by_planning ? by_pulse : by_planning));
    return rate < TOP_RATE ? rate : TOP_RATE;
}

bool opposite_coils(uint8_t pattern) { return (pattern & 5) == 5 || (pattern & 10) == 10; }

int32_t fewest_steps(int32_t position) {
    int32_t room = -FURTHEST - position;
    return room > -MOST_STEPS ? room : -MOST_STEPS;
}

int32_t most_steps(int32_t position) {
    int32_t room = FURTHEST - position;
    return room < MOST_STEPS ? room : MOST_STEPS;
}

void CoilBudget::after_reset() {
    bool remembered =
        check == fitting_check() && stand_left <= STAND_BUDGET_MS && on_left <= ON_BUDGET_MS && given < ON_BACK;
    if (remembered)
        return;
    stand_left = STAND_BUDGET_MS;
    on_left = POWER_UP_ON_MS;
    given = 0;
    check = fitting_check();
}

void CoilBudget::pass(uint16_t ms, bool on, bool standing) {
    if (on) {
        on_left = ms < on_left ? on_left - ms : 0;
        if (standing)
            stand_left = ms < stand_left ? stand_left - ms : 0;
    } else {
        stand_left = ms < STAND_BUDGET_MS - stand_left ? stand_left + ms : STAND_BUDGET_MS;
        uint32_t back = (uint32_t)given + ms;
        given = (uint16_t)(back % ON_BACK);
        back /= ON_BACK;
        on_left = back < (uint32_t)(ON_BUDGET_MS - on_left) ? (uint16_t)(on_left + back) : (uint16_t)ON_BUDGET_MS;
    }
    check = fitting_check();
}

uint32_t CoilBudget::wait_for(uint16_t standing_ms, uint16_t on_ms) const {
    uint32_t for_standing = standing_ms > stand_left ? standing_ms - stand_left : 0;
    uint32_t for_on = on_ms > on_left ? (uint32_t)(on_ms - on_left) * ON_BACK : 0;
    return for_standing > for_on ? for_standing : for_on;
}

uint8_t pattern_at(uint8_t phase) {
    // 1, 3, 2, 6, 4, 12, 8, 9: each coil in turn, overlapping with the next
    uint8_t coil = (phase & 7) >> 1;
    uint8_t pattern = (uint8_t)(1 << coil);
    if (phase & 1)
        pattern |= (uint8_t)(1 << ((coil + 1) & 3));
    return pattern;
}

uint8_t first_phase(Form form) { return form == Form::full ? 1 : 0; }

uint8_t phase_stride(Form form) { return form == Form::half ? 1 : 2; }
