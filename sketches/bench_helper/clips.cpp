#include "clips.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/delay_basic.h>

#include "bounds.h"
#include "outputs.h"
#include "sensors.h"
#include "serial_line.h"

namespace clips {
namespace {

const uint8_t QUIET_READINGS = 8;
// A pin leaks 1 uA at most (data sheets, "DC Characteristics"), 0.1 V on 100 kohm: 21 steps.
const uint16_t QUIET_MOST = 24;
// A pull-up of 20 to 50 kohm (same table) against 100 kohm gives 683 to 853; a driver's 10 kohm takes it below 530.
const uint16_t PULLED_LEAST = 614, PULLED_MOST = 922;
const uint8_t STEADY_ROUNDS = 8, MOST_ROUNDS = 80; // of 0.43 ms
const int16_t STEADY = 2;
const uint8_t CALM_READINGS = 10; // a millisecond

const uint16_t RISE_AT = 400;      // what the timer has counted when the pin rises, about
const uint16_t WITHOUT_CURRENT = 1; // a step of 5 mV on 245 ohm
const uint8_t CALM_ROUNDS = 24;    // of 0.21 ms

uint16_t one(uint8_t clip) { return sensors::sum_of(clip, 1, sensors::Against::supply); }

bool is_quiet(Measured &measured) {
    for (uint8_t clip = 0; clip < pins::CLIPS; clip++)
        for (uint8_t reading = 0; reading < QUIET_READINGS; reading++) {
            measured.sums[0] = one(clip);
            if (measured.sums[0] > QUIET_MOST) {
                measured.found = Found::volt;
                measured.at = clip;
                return false;
            }
        }
    return true;
}

bool is_alone(Measured &measured) {
    outputs::pull_clips(true);
    bool alone = true;
    for (uint8_t clip = 0; clip < pins::CLIPS && alone; clip++) {
        measured.sums[0] = one(clip);
        alone = measured.sums[0] >= PULLED_LEAST && measured.sums[0] <= PULLED_MOST;
        measured.found = Found::wire;
        measured.at = clip;
    }
    outputs::pull_clips(false);
    return alone;
}

// Until the voltage across the pair has stood for 3 ms: the windings have up to 1 H, and 440 ohm in series.
void wait_until_steady(uint8_t high, uint8_t low) {
    int16_t held = 0;
    uint8_t stood = 0;
    for (uint8_t round = 0; round < MOST_ROUNDS && stood < STEADY_ROUNDS; round++) {
        int16_t now = (int16_t)(one(high) - one(low));
        if (now - held > STEADY || held - now > STEADY || !round) {
            held = now;
            stood = 0;
        } else {
            stood++;
        }
    }
}

void end_current(uint8_t low) {
    uint8_t rounds = CALM_ROUNDS;
    while (one(low) > WITHOUT_CURRENT && --rounds) {
    }
}

// What the converter holds after the rise; the timer's count at the rise goes to `rose`.
uint16_t one_rise(const Rise &asked, uint16_t &rose) {
    TCCR1B = 0; // after a move it may still run, and would trigger too soon
    OCR1B = RISE_AT + asked.at - sensors::HELD_AFTER;
    TCNT1 = 0;
    sensors::await_timer(asked.see);
    cli();
    TCCR1B = _BV(CS10);
    _delay_loop_1((RISE_AT - 84) / 3);
    rose = serial_line::stop_waits() ? 0 : outputs::raise_clip(asked.high) - 2;
    sei();
    uint16_t seen = sensors::held();
    TCCR1B = 0;
    outputs::drive_clip(asked.high, false);
    return seen;
}

} // namespace

void measure(uint8_t high, uint8_t low, Measured &measured) {
    if (!is_quiet(measured) || !is_alone(measured))
        return;
    outputs::drive_clip(low, false);
    outputs::drive_clip(high, true);
    wait_until_steady(high, low);
    for (uint8_t clip = 0; clip < pins::CLIPS && !serial_line::stop_waits(); clip++)
        measured.sums[clip] = sensors::sum_of(clip, MOST_SAMPLES, sensors::Against::supply);
    outputs::drive_clip(high, false); // what flows in the winding dies away through both pins
    sensors::sum_of(high, CALM_READINGS, sensors::Against::supply);
    outputs::let_clips_go();
    measured.found = serial_line::stop_waits() ? Found::stopped : Found::measured;
}

void watch_rise(Rise &asked, Measured &measured) {
    if (!is_quiet(measured) || !is_alone(measured))
        return;
    outputs::drive_clip(asked.low, false);
    outputs::drive_clip(asked.hold, false);
    outputs::drive_clip(asked.high, false);
    measured.sums[0] = 0;
    uint16_t rose = 0;
    for (uint8_t rise = 0; rise < RISES && !serial_line::stop_waits(); rise++) {
        measured.sums[0] += one_rise(asked, rose);
        end_current(asked.low);
    }
    outputs::let_clips_go();
    asked.at = RISE_AT + asked.at - rose;
    measured.found = serial_line::stop_waits() ? Found::stopped : Found::measured;
}

} // namespace clips
