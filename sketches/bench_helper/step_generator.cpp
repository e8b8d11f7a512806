#include "step_generator.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/delay_basic.h>

#include "outputs.h"
#include "pins.h"
#include "signals.h"

namespace step_generator {
namespace {

struct Record {
    uint16_t compare; // interval - 1
    uint8_t count;    // intervals
    bool pause;       // intervals without a step
    int32_t end;      // position after the record
};

const uint8_t RECORD_SIZE = sizeof(Record);
const uint8_t RECORDS = 16;
const uint8_t RING_MASK = RECORD_SIZE * RECORDS - 1;
static_assert(RECORD_SIZE == 8, "records are addressed by byte offset in a ring of 128 bytes");

// A latched edge refers to a record; it is read before so many later ones have been pushed.
const uint8_t SPARE = 4 * RECORD_SIZE;

// Cycles from the rise of STEP to its fall without padding, at least: the short way, and in full (measured in the
// simulator; the test of pulse widths holds them to it).
const uint16_t HIGH_UNPADDED = 17;
const uint16_t HIGH_IN_FULL = 46;
const uint8_t PAD_CYCLES = 3;

struct Latch {
    uint8_t record;
    uint8_t remaining;
};

Record records[RECORDS];
volatile uint8_t current;   // offset of the record under way, or of the last one
volatile uint8_t filled;    // offset of the next to be pushed
volatile uint8_t remaining; // intervals of the record under way
uint8_t pad_plain = 1, pad_in_full;

uint8_t coil_outputs[8]; // port values of the half-step sequence
volatile uint8_t phase;
bool swaps_ends; // each step switches one end of a coil off and its other end on
uint8_t stride;

volatile uint8_t edge_count;
volatile bool edge_level;
Latch latched[2];
volatile bool latch_set[2];

Edges collected;

int8_t sign = 1;
int32_t planned_end;
uint16_t wait_cycles;

// So many edges are latched before the main loop has come round, two slots' at the least; more have to wait for it. A sensor
// that chatters would take the steps their time.
const uint8_t MOST_EDGES = 8;

// Inlined into the step interrupt: the position of an edge is that before the step that notices it. The next one is
// listened for a step later.
ALWAYS_INLINE void latch_edge(uint8_t record, uint8_t left) {
    bool level = SIGNAL_IS_SET(EDGE_LEVEL);
    SIGNAL_CLEAR(EDGE_SEEN);
    latched[level].record = record & RING_MASK;
    latched[level].remaining = left;
    latch_set[level] = true;
    edge_level = level;
    uint8_t count = edge_count + 1;
    edge_count = count;
    if (count >= MOST_EDGES)
        SIGNAL_CLEAR(LISTENS);
}

ALWAYS_INLINE void see_to_edges(uint8_t record, uint8_t left) {
    if (SIGNAL_IS_SET(EDGE_SEEN))
        latch_edge(record, left);
    else if (SIGNAL_IS_SET(LISTENS))
        EIMSK |= _BV(pins::INDEX_INTERRUPT);
}

ALWAYS_INLINE void change_pattern() {
    uint8_t next = (uint8_t)(phase + stride) & 7;
    phase = next;
    outputs::change_coils(coil_outputs[next], swaps_ends);
}

ALWAYS_INLINE Record &record_at(uint8_t offset) {
    return *(Record *)((uint8_t *)records + offset);
}

int32_t position_of(uint8_t record, uint8_t intervals_left) {
    const Record &at = record_at(record);
    if (at.pause)
        intervals_left = 0;
    return sign > 0 ? at.end - intervals_left : at.end + intervals_left;
}

// Tells the interrupt what the end of the interval now begun brings.
ALWAYS_INLINE void announce(bool pause) {
    if (pause)
        SIGNAL_SET(PAUSE);
    else
        SIGNAL_CLEAR(PAUSE);
    if (pause || SIGNAL_IS_SET(COIL_STEPS))
        SIGNAL_SET(NO_PULSE);
    else
        SIGNAL_CLEAR(NO_PULSE);
}

// Turns what the interrupt latched into positions, before the records it refers to are used again. Interrupts
// are held off for a dozen cycles at a time only: it would show in the step intervals.
void collect_edges() {
    if (!running()) { // no step will come to latch one, or to listen
        if (SIGNAL_IS_SET(EDGE_SEEN)) {
            cli();
            latch_edge(current, remaining);
            sei();
        }
        EIMSK |= _BV(pins::INDEX_INTERRUPT);
    }
    if (!edge_count)
        return;
    for (uint8_t level = 0; level < 2; level++) {
        cli();
        bool set = latch_set[level];
        uint8_t record = latched[level].record, left = latched[level].remaining;
        latch_set[level] = false;
        sei();
        if (!set)
            continue;
        (level ? collected.rose : collected.fell) = true;
        (level ? collected.rise_position : collected.fall_position) = position_of(record, left);
    }
    cli();
    collected.count += edge_count;
    edge_count = 0;
    sei();
    collected.level = edge_level;
    SIGNAL_SET(LISTENS);
}

void push_record(uint16_t cycles, uint8_t count, bool pause) {
    if (!pause)
        planned_end += sign > 0 ? count : -(int32_t)count;
    Record &record = record_at(filled);
    record.compare = cycles - 1;
    record.count = count;
    record.pause = pause;
    record.end = planned_end;
    filled = (filled + RECORD_SIZE) & RING_MASK;
}

} // namespace

// What the interrupt does when a plain pulse is not all: registers are as the interrupt found them, STEP is up.
extern "C" void __vector_step_in_full(void) __attribute__((signal, used, externally_visible));
void __vector_step_in_full(void) {
    if (pad_in_full)
        _delay_loop_1(pad_in_full); // 3 cycles a turn
    pins::set(STEP_PIN, false);
    if (SIGNAL_IS_SET(COIL_STEPS) && !SIGNAL_IS_SET(PAUSE))
        change_pattern();
    uint8_t left = remaining - 1;
    if (left) {
        see_to_edges(current, left + 1);
    } else {
        uint8_t next = (current + RECORD_SIZE) & RING_MASK;
        if (next == filled) {
            TIMSK1 = 0;
        } else {
            const Record &record = record_at(next);
            uint16_t compare = record.compare;
            OCR1A = compare;
            if (TCNT1 >= compare) { // the counter has passed: it would run on for 4 ms
                SIGNAL_SET(STEP_LATE);
                TCNT1 = compare - 16;
            }
            left = record.count;
            announce(record.pause);
            current = next;
        }
        see_to_edges(next - RECORD_SIZE, 1); // the timer can't wait so long
    }
    remaining = left;
}

// STEP rises at the same cycle whatever else is to be done. Then the short way out: count down, wait for the
// pulse to be long enough, drop STEP.
ISR(TIMER1_COMPA_vect, ISR_NAKED) {
    __asm__ __volatile__("sbis %[signals], %[no_pulse]      \n" // 1, or 2 and skip
                         "sbi  %[port], %[bit]              \n" // 2: STEP rises
                         "push r24                          \n" // 2
                         "in   r24, __SREG__                \n" // 1
                         "push r24                          \n" // 2
                         "in   r24, %[signals]              \n" // 1
                         "andi r24, %[special]              \n" // 1
                         "brne 2f                           \n" // 1; 2 taken
                         "lds  r24, %[remaining]            \n" // 2
                         "dec  r24                          \n" // 1
                         "breq 2f                           \n" // 1; 2 taken
                         "sts  %[remaining], r24            \n" // 2
                         "lds  r24, %[pad]                  \n" // 2
                         "1: dec r24                        \n" // 1
                         "brne 1b                           \n" // 2; 1 at last: 3 a turn
                         "cbi  %[port], %[bit]              \n" // 2: STEP falls
                         "sbic %[signals], %[listens]       \n" // 1, or 2 and skip
                         "sbi  %[mask], %[index]            \n" // 2
                         "pop  r24                          \n" // 2
                         "out  __SREG__, r24                \n" // 1
                         "pop  r24                          \n" // 2
                         "reti                              \n" // 4; 5
                         "2: pop r24                        \n" // 2
                         "out  __SREG__, r24                \n" // 1
                         "pop  r24                          \n" // 2
                         "jmp  __vector_step_in_full        \n" // 3
                         :
                         : [signals] "I"(_SFR_IO_ADDR(SIGNALS)), [no_pulse] "I"(NO_PULSE),
                           [port] "I"(pins::pin_register(pins::PORTS[STEP_PIN]) + 2 - __SFR_OFFSET),
                           [bit] "I"(pins::place(STEP_PIN).bit), [special] "M"(_BV(NO_PULSE) | _BV(EDGE_SEEN)),
                           [listens] "I"(LISTENS), [mask] "I"(_SFR_IO_ADDR(EIMSK)),
                           [index] "I"(pins::INDEX_INTERRUPT), [remaining] "i"(&remaining), [pad] "i"(&pad_plain));
}

void set_up() {
    halt();
    TCCR1A = 0;
    TCCR1B = 0;
    uint8_t lines[4] = { pins::mask(COIL_1_PIN), pins::mask(COIL_2_PIN), pins::mask(COIL_3_PIN),
                         pins::mask(COIL_4_PIN) };
    for (uint8_t place = 0; place < 8; place++) {
        uint8_t on = 0;
        for (uint8_t line = 0; line < 4; line++)
            if (pattern_at(place) >> line & 1)
                on |= lines[line];
        coil_outputs[place] = COIL_ACTIVE ? on : (uint8_t)(pins::COIL_MASK & ~on);
    }
    set_position(0);
    take_edges();
    SIGNAL_SET(LISTENS);
}

uint16_t set_high_cycles(uint16_t cycles) {
    uint8_t pads = 1;
    while (HIGH_UNPADDED + PAD_CYCLES * pads < cycles)
        pads++;
    uint16_t high = HIGH_UNPADDED + PAD_CYCLES * pads;
    pad_plain = pads;
    pad_in_full = high > HIGH_IN_FULL ? (uint8_t)((high - HIGH_IN_FULL) / PAD_CYCLES + 1) : 0;
    return high;
}

void step_coils(Form form) {
    SIGNAL_SET(COIL_STEPS);
    announce(false);
    phase = first_phase(form);
    swaps_ends = form == Form::full;
    stride = sign > 0 ? phase_stride(form) : -phase_stride(form);
}

void step_driver() {
    SIGNAL_CLEAR(COIL_STEPS);
    announce(false);
}

uint8_t coil_phase() { return phase; }

void prepare(int8_t new_sign, uint16_t least_wait) {
    set_position(position());
    if ((new_sign > 0) != (sign > 0))
        stride = -stride;
    sign = new_sign;
    wait_cycles = least_wait;
    SIGNAL_CLEAR(STEP_LATE);
}

bool has_room() {
    // Slow steps are planned one ahead, so that an ease soon takes hold; fast ones a dozen records, some 8 ms.
    uint8_t used = (filled - current - RECORD_SIZE) & RING_MASK;
    const Record &newest = record_at((filled - RECORD_SIZE) & RING_MASK);
    bool slow = used && (newest.count == 1 && newest.compare > 16000);
    return used <= (slow ? 2 * RECORD_SIZE : RING_MASK + 1 - SPARE);
}

void push(const Slice &slice) {
    uint32_t cycles = slice.cycles;
    if (cycles < wait_cycles)
        cycles = wait_cycles;
    wait_cycles = 0;
    if (slice.steps == 1 && cycles > 0xFFFF) {
        uint8_t pauses = (uint8_t)(cycles >> 16);
        uint16_t each = (uint16_t)(cycles / (pauses + 1u));
        push_record(each, pauses, true);
        push_record((uint16_t)(cycles - (uint32_t)each * pauses), 1, false);
        return;
    }
    uint16_t each = (uint16_t)(cycles / slice.steps);
    uint8_t longer = (uint8_t)(cycles - (uint32_t)each * slice.steps);
    if (slice.steps > longer)
        push_record(each, slice.steps - longer, false);
    if (longer)
        push_record(each + 1, longer, false);
}

void start() {
    uint8_t first = (current + RECORD_SIZE) & RING_MASK;
    const Record &record = record_at(first);
    current = first;
    remaining = record.count;
    announce(record.pause);
    TCCR1B = _BV(WGM12);
    TCNT1 = 0;
    OCR1A = record.compare;
    TIFR1 = _BV(OCF1A);
    cli();
    if (!SIGNAL_IS_SET(STOP_ASKED))
        TIMSK1 = _BV(OCIE1A);
    sei();
    TCCR1B = _BV(WGM12) | _BV(CS10);
}

bool running() { return TIMSK1; }

void halt() {
    TIMSK1 = 0;
    TCCR1B = 0;
    announce(false);
}

bool was_late() { return SIGNAL_IS_SET(STEP_LATE); }

Instant instant() {
    uint8_t record, left;
    do {
        record = current;
        left = remaining;
    } while (record != current || left != remaining);
    Instant now;
    now.position = position_of(record, left);
    int32_t distance = planned_end - now.position;
    now.queued = (uint32_t)(distance < 0 ? -distance : distance);
    // a slow interval is a record of pauses and one that ends with the step
    const Record &at = record_at(record), &before = record_at((record - RECORD_SIZE) & RING_MASK);
    now.interval = at.compare + 1UL;
    if (at.pause)
        now.interval *= at.count + 1UL;
    else if (before.pause && at.count == 1)
        now.interval += (before.compare + 1UL) * before.count;
    return now;
}

int32_t position() { return instant().position; }

void set_position(int32_t position) {
    collect_edges();
    planned_end = position;
    current = 0;
    filled = RECORD_SIZE;
    remaining = 0;
    records[0].count = 0;
    records[0].pause = false;
    records[0].end = position;
}

Edges take_edges() {
    collect_edges();
    Edges edges = collected;
    collected.count = 0;
    collected.fell = collected.rose = false;
    return edges;
}

} // namespace step_generator
