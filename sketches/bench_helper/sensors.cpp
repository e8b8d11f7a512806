#include "sensors.h"

#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/delay_basic.h>

#include "clock.h"
#include "pins.h"
#include "signals.h"

// The index interrupt only notes that there was an edge and how the input stood: no registers to save, about
// twenty cycles in all. The step interrupt or the main loop latches the position, which can't change before that. A later
// step or the main loop opens this interrupt again, so a chattering sensor can't hold up the steps.
#define NOTE_EDGE()                                                                                                  \
    __asm__ __volatile__("cbi %[mask], %[number]   \n" /* 2 cycles */                                                \
                         "cbi %[signals], %[level] \n" /* 2 */                                                       \
                         "sbic %[input], %[bit]    \n" /* 1, or 2 and skip */                                        \
                         "sbi %[signals], %[level] \n" /* 2 */                                                       \
                         "sbi %[signals], %[seen]  \n" /* 2 */                                                       \
                         "reti                     \n" /* 4, or 5 with the larger program counter */                 \
                         :                                                                                           \
                         : [mask] "I"(_SFR_IO_ADDR(EIMSK)), [number] "I"(pins::INDEX_INTERRUPT),                     \
                           [signals] "I"(_SFR_IO_ADDR(SIGNALS)), [level] "I"(EDGE_LEVEL), [seen] "I"(EDGE_SEEN),     \
                           [input] "I"(pins::pin_register(pins::PORTS[INDEX_PIN]) - __SFR_OFFSET),                   \
                           [bit] "I"(pins::place(INDEX_PIN).bit))

#if PINS_OF_THE_LARGE_BOARD
ISR(INT4_vect, ISR_NAKED) { NOTE_EDGE(); }
ISR(INT5_vect, ISR_NAKED) { NOTE_EDGE(); }
#else
ISR(INT0_vect, ISR_NAKED) { NOTE_EDGE(); }
ISR(INT1_vect, ISR_NAKED) { NOTE_EDGE(); }
#endif

namespace sensors {
namespace {

#if PINS_OF_THE_LARGE_BOARD
const uint8_t BANDGAP_CHANNEL = 0x1E;
const uint8_t BANDGAP_REFERENCE = _BV(REFS1);
#else
const uint8_t BANDGAP_CHANNEL = 0x0E;
const uint8_t BANDGAP_REFERENCE = _BV(REFS1) | _BV(REFS0);
#endif
const uint16_t NOMINAL_SUPPLY = 5000;

// The capacitor at the AREF pin, 100 nF on most boards, empties through the pin's own 32 kohm (data sheets, "ADC
// Characteristics"): ten time constants, in conversions.
const uint16_t REFERENCE_SETTLES = 310;

const uint16_t LOW_SUPPLY = 4500;
const uint8_t LOW_READINGS = 4; // one after the other

// A meter's word on the bandgap: millivolt above LEAST_BANDGAP_MV, then the same inverted. After the cells that
// `conversation` counts resets in; one that was never written, or only half, has no fitting check.
uint8_t *const KEPT = (uint8_t *)64;
uint8_t *const KEPT_CHECK = (uint8_t *)65;

uint16_t bandgap = BANDGAP_MILLIVOLT;
bool kept;
uint16_t supply = NOMINAL_SUPPLY;
uint8_t low_readings;
bool watching; // a conversion of the bandgap reference is under way

void choose(uint8_t multiplexer, bool upper_bank, uint8_t reference = _BV(REFS0)) {
    ADMUX = reference | multiplexer;
#if PINS_OF_THE_LARGE_BOARD
    ADCSRB = upper_bank ? _BV(MUX5) : 0;
#else
    (void)upper_bank;
#endif
}

void note_supply(uint16_t reading) {
    if (!reading)
        return;
    supply = (uint16_t)((uint32_t)bandgap * 1024 / reading);
    if (supply >= LOW_SUPPLY)
        low_readings = 0;
    else if (low_readings < LOW_READINGS)
        low_readings++;
}

// Ends the watching conversion, if one is under way.
void take_over() {
    while (ADCSRA & _BV(ADSC)) {
    }
    watching = false;
}

uint16_t convert() {
    ADCSRA |= _BV(ADSC);
    while (ADCSRA & _BV(ADSC)) {
    }
    clock::service(); // its counter must not wrap round unseen
    return ADC;
}

} // namespace

void set_up() {
    pins::set(INDEX_PIN, true); // pull-up: an open collector is enough
    INDEX_SENSE_REGISTER =
        (uint8_t)(INDEX_SENSE_REGISTER & ~(3 << pins::INDEX_SENSE_BIT)) | (uint8_t)(1 << pins::INDEX_SENSE_BIT);
    EIFR = _BV(pins::INDEX_INTERRUPT);
    EIMSK |= _BV(pins::INDEX_INTERRUPT);
    ADCSRA = _BV(ADEN) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0); // 125 kHz, 104 us a conversion
    uint8_t above = eeprom_read_byte(KEPT);
    kept = above <= MOST_BANDGAP_MV - LEAST_BANDGAP_MV && eeprom_read_byte(KEPT_CHECK) == (uint8_t)~above;
    if (kept)
        bandgap = (uint16_t)LEAST_BANDGAP_MV + above;
}

bool index_level() { return pins::level(INDEX_PIN); }

uint16_t sum_of(uint8_t channel, uint8_t samples, Against reference) {
    take_over();
    bool bandgap = reference == Against::bandgap;
    choose(channel & 7, channel > 7, bandgap ? BANDGAP_REFERENCE : _BV(REFS0));
    for (uint16_t settling = bandgap ? REFERENCE_SETTLES : 1; settling; settling--)
        convert();
    uint16_t sum = 0;
    while (samples--)
        sum += convert();
    return sum;
}

// A trigger resets the prescaler; the input is held two of the converter's cycles later, and three of the processor's for
// getting in step (data sheets, "Prescaling and Conversion Timing"); the match raises its flag one cycle late.
static_assert(HELD_AFTER == 1 + 3 + 2 * 128, "a cycle of the converter is 128 of the processor's");

void await_timer(uint8_t channel) {
    take_over();
    choose(channel, false);
    convert();
    TIFR1 = _BV(OCF1B); // its rising starts the conversion
    ADCSRB = _BV(ADTS2) | _BV(ADTS0);
    ADCSRA |= _BV(ADATE);
}

uint16_t held() {
    while (!(TIFR1 & _BV(OCF1B))) {
    }
    _delay_loop_1(HELD_AFTER / 3); // by then the conversion is under way
    ADCSRA &= (uint8_t)~_BV(ADATE);
    while (ADCSRA & _BV(ADSC)) {
    }
    clock::service();
    return ADC;
}

uint16_t supply_millivolt() {
    take_over();
    choose(BANDGAP_CHANNEL, false);
    for (uint8_t settling = 0; settling < 8; settling++)
        convert();
    note_supply(convert());
    return supply;
}

void service() {
    static uint8_t settling;
    if (ADCSRA & _BV(ADSC))
        return;
    if (!watching) { // the reference settles slowly after another channel
        choose(BANDGAP_CHANNEL, false);
        settling = 8;
    } else if (settling) {
        settling--;
    } else {
        note_supply(ADC);
    }
    watching = true;
    ADCSRA |= _BV(ADSC);
}

uint16_t bandgap_millivolt() { return bandgap; }

bool bandgap_is_kept() { return kept; }

void keep_bandgap(uint16_t millivolt) {
    uint8_t above = (uint8_t)(millivolt - LEAST_BANDGAP_MV);
    eeprom_update_byte(KEPT, above); // a cell that holds it already is not written
    eeprom_update_byte(KEPT_CHECK, (uint8_t)~above);
    bandgap = millivolt;
    kept = true;
}

bool supply_is_low() { return low_readings >= LOW_READINGS; }

uint16_t supply_last() { return supply; }

uint16_t millivolt(uint16_t sum, uint8_t samples, Against reference) {
    uint16_t full = reference == Against::bandgap ? bandgap : supply;
    return (uint16_t)(((uint32_t)sum * full >> 10) / samples);
}

} // namespace sensors
