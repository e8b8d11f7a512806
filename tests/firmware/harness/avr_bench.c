/* A bench around libsimavr 1.6 that runs the helper sketch in virtual time.
 *
 * Time moves only inside bench_run(), so the same inputs give the same edges, cycle for cycle.
 * Everything is exact to one CPU cycle of 62.5 ns (16 MHz) except where a comment says otherwise.
 * libsimavr 1.6 departs from the chips' data sheets in eleven places that matter here; each work-around
 * is marked W1 to W11 and says what the chip does.
 */
#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "avr_adc.h"
#include "avr_eeprom.h"
#include "avr_extint.h"
#include "avr_ioport.h"
#include "avr_timer.h"
#include "avr_uart.h"
#include "jig.h"
#include "sim_avr.h"
#include "sim_cycle_timers.h"
#include "sim_elf.h"
#include "sim_interrupts.h"
#include "sim_io.h"

enum { MAX_WATCHED = 32, MAX_VECTORS = 64, ANALOG_CHANNELS = 16, CHIP_RECEIVE_DEPTH = 3, EXCHANGE_QUANTUM = 200 };

typedef struct { uint64_t cycle; uint32_t watch; uint32_t level; } edge_t;
typedef struct { uint64_t ready; uint8_t byte; } sent_t;
typedef struct { uint64_t count, total, shortest, longest; } vector_stat_t;
typedef struct { uint64_t cycle; int port, bit, level; } pin_event_t;
typedef struct bench bench_t;
typedef struct { bench_t *bench; int number; } tag_t;

struct bench {
    avr_t *avr;
    elf_firmware_t firmware;
    avr_uart_t *uart;
    avr_timer_t *timer1;
    avr_adc_t *adc;
    uint64_t entry_cycles;

    edge_t *edges;
    size_t edge_count, edge_room;
    tag_t watch_tags[MAX_WATCHED];
    int watch_level[MAX_WATCHED];
    int watch_count;

    uint8_t driven_mask['L' + 1], driven_level['L' + 1];
    uint16_t millivolt[ANALOG_CHANNELS];
    jig_t *jig;
    struct { int port, bit; } jig_pin[JIG_CLIPS];
    uint64_t jig_cycle, jig_changed, driven_since, longest_driven, held_at;
    int jig_stale; /* the pins have changed since they were looked at */

    uint8_t *incoming;
    size_t incoming_head, incoming_tail, incoming_room;
    int line_busy;
    uint64_t arrival[64]; /* when each byte of simavr's own queue is complete on the line */
    uint64_t receive_overruns;

    sent_t *sent;
    size_t sent_head, sent_tail, sent_room;
    uint64_t line_free;
    uint32_t forced_cycles_per_byte; /* 0: as the chip sets its baud rate */
    int within_line;
    uint64_t answers_begun, answers_sent; /* lines other than events */

    tag_t vector_tags[MAX_VECTORS];
    vector_stat_t vectors[MAX_VECTORS];
    uint64_t entered[MAX_VECTORS];

    pin_event_t *events;
    size_t event_next, event_count, event_room;

    uint64_t late_compares, watchdog_resets;
    uint32_t hung_at;
    uint8_t hung_instruction[2];

    /* the shaft: counts STEP pulses, drives the slot sensor */
    int shaft_on, step_watch, dir_watch, enable_watch, sensor_port, sensor_bit, sensor_level;
    int direction_level, enable_level;
    long position, steps_per_turn, slot_steps;
};

static void *grown(void *memory, size_t *room, size_t need, size_t item)
{
    if (need <= *room)
        return memory;
    *room = need * 2 + 1024;
    memory = realloc(memory, *room * item);
    if (!memory)
        abort();
    return memory;
}

static void quiet_logger(avr_t *avr, const int level, const char *format, va_list arguments)
{
    (void)avr;
    if (level <= LOG_ERROR)
        vfprintf(stderr, format, arguments);
}

/* ---- pins ------------------------------------------------------------------------------------- */

void bench_drive_pin(bench_t *bench, int port, int bit, int level)
{
    /* W1: a pulled-up input that is driven low springs back high on any write to its port.
     * Keeping the level as an 'external' pull as well holds it, as on the chip. */
    uint8_t flag = (uint8_t)(1 << bit);
    bench->driven_mask[port] |= flag;
    if (level)
        bench->driven_level[port] |= flag;
    else
        bench->driven_level[port] &= (uint8_t)~flag;
    avr_ioport_external_t external = { .name = (unsigned long)port,
                                       .mask = bench->driven_mask[port],
                                       .value = bench->driven_level[port] };
    avr_ioctl(bench->avr, AVR_IOCTL_IOPORT_SET_EXTERNAL(port), &external);
    avr_raise_irq(avr_io_getirq(bench->avr, AVR_IOCTL_IOPORT_GETIRQ(port), bit), (uint32_t)level);
}

static void turn_shaft(bench_t *bench)
{
    if (bench->enable_level)
        return; /* a driver's enable input is active low */
    bench->position += bench->direction_level ? 1 : -1;
    long within = bench->position % bench->steps_per_turn;
    if (within < 0)
        within += bench->steps_per_turn;
    int level = within < bench->slot_steps;
    if (level != bench->sensor_level) {
        bench->sensor_level = level;
        bench_drive_pin(bench, bench->sensor_port, bench->sensor_bit, level);
    }
}

static void on_pin(avr_irq_t *irq, uint32_t value, void *tag_pointer)
{
    (void)irq;
    tag_t *tag = tag_pointer;
    bench_t *bench = tag->bench;
    int level = value & 1, watch = tag->number;
    if (bench->watch_level[watch] == level)
        return;
    bench->watch_level[watch] = level;
    bench->edges = grown(bench->edges, &bench->edge_room, bench->edge_count + 1, sizeof(edge_t));
    bench->edges[bench->edge_count++] = (edge_t){ bench->avr->cycle, (uint32_t)watch, (uint32_t)level };
    if (!bench->shaft_on)
        return;
    if (watch == bench->dir_watch)
        bench->direction_level = level;
    else if (watch == bench->enable_watch)
        bench->enable_level = level;
    else if (watch == bench->step_watch && level)
        turn_shaft(bench);
}

int bench_watch(bench_t *bench, int port, int bit)
{
    int watch = bench->watch_count++;
    bench->watch_tags[watch] = (tag_t){ bench, watch };
    avr_irq_register_notify(avr_io_getirq(bench->avr, AVR_IOCTL_IOPORT_GETIRQ(port), bit), on_pin,
                            &bench->watch_tags[watch]);
    return watch;
}

size_t bench_edges(bench_t *bench, edge_t **edges)
{
    *edges = bench->edges;
    return bench->edge_count;
}

void bench_forget_edges(bench_t *bench) { bench->edge_count = 0; }

void bench_fit_shaft(bench_t *bench, int step, int dir, int enable, int port, int bit, long turn, long slot)
{
    bench->step_watch = step;
    bench->dir_watch = dir;
    bench->enable_watch = enable;
    bench->enable_level = 1; /* the pull-up the wiring drawing asks for */
    bench->sensor_port = port;
    bench->sensor_bit = bit;
    bench->steps_per_turn = turn;
    bench->slot_steps = slot;
    bench->position = turn / 2;
    bench->sensor_level = 0;
    bench->shaft_on = 1;
    bench_drive_pin(bench, port, bit, 0);
}

long bench_position(bench_t *bench) { return bench->position; }

uint8_t bench_data(bench_t *bench, uint32_t address) { return bench->avr->data[address]; }
uint8_t bench_eeprom(bench_t *bench, uint16_t address)
{
    uint8_t byte = 0;
    avr_eeprom_desc_t one = { .ee = &byte, .offset = address, .size = 1 };
    avr_ioctl(bench->avr, AVR_IOCTL_EEPROM_GET, &one);
    return byte;
}

void bench_set_data(bench_t *bench, uint32_t address, uint8_t value) { bench->avr->data[address] = value; }

/* ---- pin events at an exact cycle, in ascending order ------------------------------------------- */

static avr_cycle_count_t on_event(avr_t *avr, avr_cycle_count_t when, void *bench_pointer)
{
    (void)when;
    bench_t *bench = bench_pointer;
    while (bench->event_next < bench->event_count && bench->events[bench->event_next].cycle <= avr->cycle) {
        pin_event_t event = bench->events[bench->event_next++];
        bench_drive_pin(bench, event.port, event.bit, event.level);
    }
    return bench->event_next < bench->event_count ? bench->events[bench->event_next].cycle : 0;
}

void bench_drive_pin_at(bench_t *bench, uint64_t cycle, int port, int bit, int level)
{
    bench->events = grown(bench->events, &bench->event_room, bench->event_count + 1, sizeof(pin_event_t));
    bench->events[bench->event_count++] = (pin_event_t){ cycle, port, bit, level };
    if (bench->event_next == bench->event_count - 1)
        avr_cycle_timer_register(bench->avr, cycle > bench->avr->cycle ? cycle - bench->avr->cycle : 1,
                                 on_event, bench);
}

/* ---- analogue inputs ---------------------------------------------------------------------------- */

static uint8_t *port_registers(bench_t *bench, int port) /* PIN, DDR, PORT */
{
    return bench->avr->data + (port < 'H' ? 0x20 + 3 * (port - 'A') : 0x100 + 3 * (port - (port > 'H' ? 'I' : 'H')));
}

static void note_driven(bench_t *bench)
{
    if (bench->driven_since && bench->avr->cycle - bench->driven_since > bench->longest_driven)
        bench->longest_driven = bench->avr->cycle - bench->driven_since;
}

static void look_at_jig_pins(bench_t *bench)
{
    int driven = 0;
    for (int clip = 0; clip < bench->jig->clips; clip++) {
        uint8_t *registers = port_registers(bench, bench->jig_pin[clip].port);
        int output = registers[1] >> bench->jig_pin[clip].bit & 1, high = registers[2] >> bench->jig_pin[clip].bit & 1;
        bench->jig->pin[clip] = output ? (high ? JIG_HIGH : JIG_LOW) : (high ? JIG_PULLED_UP : JIG_FLOATS);
        driven |= output && high;
    }
    if (!driven)
        bench->driven_since = 0;
    else if (!bench->driven_since)
        bench->driven_since = bench->jig_stale ? bench->jig_changed : bench->avr->cycle;
    note_driven(bench);
    bench->jig_stale = 0;
}

static void carry_jig_to(bench_t *bench, uint64_t cycle)
{
    if (bench->jig_stale)
        look_at_jig_pins(bench);
    bench->jig->supply = bench->avr->avcc / 1000.0;
    if (cycle <= bench->jig_cycle)
        return;
    jig_pass(bench->jig, (double)(cycle - bench->jig_cycle) / bench->avr->frequency);
    bench->jig_cycle = cycle;
}

static void carry_jig_on(bench_t *bench) { carry_jig_to(bench, bench->avr->cycle); }

/* A pin of the jig's changes: what was till now is reckoned first. How it stands is looked at with the next event. */
static void on_jig_pin(avr_irq_t *irq, uint32_t value, void *bench_pointer)
{
    (void)irq;
    (void)value;
    bench_t *bench = bench_pointer;
    carry_jig_on(bench);
    note_driven(bench);
    bench->jig_changed = bench->avr->cycle;
    bench->jig_stale = 1;
}

/* `places`: port, bit of each clip's digital pin, clip n on analogue channel n. The bench takes the jig over. */
void bench_fit_jig(bench_t *bench, const jig_t *jig, const int *places)
{
    bench->jig = malloc(sizeof *jig);
    if (!bench->jig)
        abort();
    *bench->jig = *jig;
    for (int clip = 0; clip < jig->clips; clip++) {
        bench->jig_pin[clip].port = places[2 * clip];
        bench->jig_pin[clip].bit = places[2 * clip + 1];
        avr_irq_t *irqs = avr_io_getirq(bench->avr, AVR_IOCTL_IOPORT_GETIRQ(places[2 * clip]), 0);
        int seen = 0;
        for (int before = 0; before < clip; before++)
            seen |= places[2 * before] == places[2 * clip];
        if (seen)
            continue;
        avr_irq_register_notify(irqs + IOPORT_IRQ_DIRECTION_ALL, on_jig_pin, bench);
        avr_irq_register_notify(irqs + IOPORT_IRQ_REG_PORT, on_jig_pin, bench);
    }
    bench->jig_cycle = bench->avr->cycle;
    look_at_jig_pins(bench);
}

jig_t *bench_jig(bench_t *bench) { return bench->jig; }

/* For how many cycles on end a clip has been driven at the most. */
uint64_t bench_longest_driven(bench_t *bench)
{
    if (bench->jig) {
        carry_jig_on(bench);
        look_at_jig_pins(bench);
    }
    return bench->longest_driven;
}

static void take_inputs(bench_t *bench)
{
    /* W9: simavr keeps eight channel values; the large chips' A8..A15 read past them. Its multiplexer entries
     * 32..39 point at the eight slots (see bench_new) and the right bank is loaded as sampling starts. */
    if (bench->jig) {
        carry_jig_to(bench, bench->held_at);
        look_at_jig_pins(bench); /* so that the time driven is known at any moment */
        for (int clip = 0; clip < bench->jig->clips; clip++)
            bench->millivolt[clip] = (uint16_t)lround(1000 * jig_seen(bench->jig, clip));
    }
    int upper_bank = bench->avr->flashend > 0xffff && (bench->avr->data[0x7b] >> 3 & 1); /* MUX5 in ADCSRB */
    memcpy(bench->adc->adc_values, bench->millivolt + (upper_bank ? 8 : 0), 8 * sizeof(uint16_t));
}

static avr_cycle_count_t on_hold(avr_t *avr, avr_cycle_count_t when, void *bench_pointer)
{
    (void)avr;
    (void)when;
    take_inputs(bench_pointer);
    return 0;
}

/* W11: simavr takes the inputs as the result is read; the chip holds them one and a half of the converter's cycles after a
 * conversion was begun, or two and three of the processor's after a trigger, and Timer1's compare B is one: simavr knows
 * the setting, and does nothing. */
static void hold_inputs_at(bench_t *bench, uint64_t cycle)
{
    bench->held_at = cycle;
    avr_cycle_timer_register(bench->avr, cycle > bench->avr->cycle ? cycle - bench->avr->cycle : 1, on_hold, bench);
}

static uint32_t converter_cycle(bench_t *bench)
{
    return 1u << avr_regbit_get_array(bench->avr, bench->adc->adps, 3);
}

static int timer_triggers(bench_t *bench)
{
    return avr_regbit_get(bench->avr, bench->adc->adate)
           && avr_regbit_get_array(bench->avr, bench->adc->adts, 3) == 5;
}

static void on_conversion(avr_irq_t *irq, uint32_t value, void *bench_pointer)
{
    (void)irq;
    (void)value;
    bench_t *bench = bench_pointer;
    if (!timer_triggers(bench))
        hold_inputs_at(bench, bench->avr->cycle + converter_cycle(bench) * 3 / 2);
}

static void on_compare_b(avr_irq_t *irq, uint32_t value, void *bench_pointer)
{
    (void)irq;
    bench_t *bench = bench_pointer;
    if (!value || !timer_triggers(bench))
        return;
    avr_timer_t *timer = bench->timer1;
    uint8_t *data = bench->avr->data;
    uint32_t compare = data[timer->comp[1].r_ocr] | (uint32_t)data[timer->comp[1].r_ocrh] << 8;
    hold_inputs_at(bench, timer->tov_base + compare + 1 + 3 + 2 * converter_cycle(bench));
    avr_raise_irq(avr_io_getirq(bench->avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_IN_TRIGGER), 1);
}

void bench_analog(bench_t *bench, int channel, int millivolt)
{
    if (channel >= 0 && channel < ANALOG_CHANNELS)
        bench->millivolt[channel] = (uint16_t)millivolt;
}

void bench_supply(bench_t *bench, int millivolt)
{
    bench->avr->vcc = bench->avr->avcc = bench->avr->aref = (uint32_t)millivolt;
}

/* ---- interrupts --------------------------------------------------------------------------------- */

static void on_vector(avr_irq_t *irq, uint32_t running, void *tag_pointer)
{
    (void)irq;
    tag_t *tag = tag_pointer;
    bench_t *bench = tag->bench;
    vector_stat_t *stat = &bench->vectors[tag->number];
    if (running) {
        /* W2: entering an interrupt takes 4 cycles on the chip (5 with a 22-bit program counter), 0 in simavr. */
        bench->entered[tag->number] = bench->avr->cycle;
        bench->avr->cycle += bench->entry_cycles;
        bench->avr->run_cycle_count = 1;
        return;
    }
    uint64_t took = bench->avr->cycle + 2 + bench->avr->address_size - bench->entered[tag->number];
    stat->count++;
    stat->total += took;
    if (took > stat->longest)
        stat->longest = took;
    if (!stat->shortest || took < stat->shortest)
        stat->shortest = took;
    /* W3: 'byte received' is a level on the chip; simavr raises it once a byte time. */
    avr_uart_t *uart = bench->uart;
    if (tag->number == uart->rxc.vector && uart->input.read != uart->input.write
        && bench->arrival[uart->input.read] <= bench->avr->cycle)
        avr_raise_interrupt(bench->avr, &uart->rxc);
}

void bench_vector_stat(bench_t *bench, int vector, uint64_t *out)
{
    memcpy(out, &bench->vectors[vector], sizeof(vector_stat_t));
}

void bench_forget_vectors(bench_t *bench) { memset(bench->vectors, 0, sizeof bench->vectors); }

static void on_compare_write(avr_irq_t *irq, uint32_t value, void *bench_pointer)
{
    (void)irq;
    (void)value;
    /* W7: a compare value written behind the counter fires at once in simavr; the chip runs on to 0xffff
     * (4 ms lost). Count those writes, so that a test can insist on none. */
    bench_t *bench = bench_pointer;
    avr_timer_t *timer = bench->timer1;
    if (!timer->cs_div_value || timer->wgm_op_mode_kind != avr_timer_wgm_ctc)
        return;
    uint64_t counted = (bench->avr->cycle + 1 - timer->tov_base) / timer->cs_div_value;
    uint8_t *data = bench->avr->data;
    uint32_t compare = data[timer->comp[0].r_ocr] | (uint32_t)data[timer->comp[0].r_ocrh] << 8;
    if (counted > compare)
        bench->late_compares++;
}

uint64_t bench_late_compares(bench_t *bench) { return bench->late_compares; }

/* ---- the serial line ----------------------------------------------------------------------------- */

static void on_baud_write(avr_irq_t *irq, uint32_t value, void *bench_pointer)
{
    (void)irq;
    (void)value;
    /* W4: simavr counts 11 bits for 8N1, a parity bit too many, and takes no notice when double speed (U2X) is
     * chosen after the divisor. */
    bench_t *bench = bench_pointer;
    avr_t *avr = bench->avr;
    uint32_t divisor = avr_regbit_get(avr, bench->uart->ubrrl) | (uint32_t)avr_regbit_get(avr, bench->uart->ubrrh) << 8;
    uint32_t cycles_per_bit = (divisor + 1) * (avr_regbit_get(avr, bench->uart->u2x) ? 8 : 16);
    bench->uart->cycles_per_byte = bench->forced_cycles_per_byte ? bench->forced_cycles_per_byte : cycles_per_bit * 10;
}

/* Both ends at another speed than the chip asks for: what a line says takes less of the simulator's time then. */
void bench_line_speed(bench_t *bench, uint32_t cycles_per_byte)
{
    bench->forced_cycles_per_byte = cycles_per_byte;
    on_baud_write(NULL, 0, bench);
}

static void on_control_write(avr_irq_t *irq, uint32_t value, void *bench_pointer)
{
    (void)irq;
    (void)value;
    /* W10: simavr forgets 'data register empty' when the transmitter is switched on again. */
    bench_t *bench = bench_pointer;
    if (avr_regbit_get(bench->avr, bench->uart->txen) && !bench->uart->tx_cnt)
        avr_regbit_set(bench->avr, bench->uart->udrc.raised);
}

static avr_cycle_count_t on_line(avr_t *avr, avr_cycle_count_t when, void *bench_pointer)
{
    bench_t *bench = bench_pointer;
    avr_uart_t *uart = bench->uart;
    if (bench->incoming_head == bench->incoming_tail) {
        bench->incoming_head = bench->incoming_tail = 0;
        bench->line_busy = 0;
        return 0;
    }
    uint8_t byte = bench->incoming[bench->incoming_head++];
    /* W5: the chip holds two bytes and one in its shift register; simavr holds 64, which hides overruns. */
    int waiting = (uart->input.write - uart->input.read) & 63;
    if (waiting >= CHIP_RECEIVE_DEPTH) {
        bench->receive_overruns++;
        avr_regbit_setto(avr, uart->dor, 1);
    } else {
        bench->arrival[uart->input.write] = when + uart->cycles_per_byte;
        avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), byte);
    }
    return when + uart->cycles_per_byte + 1;
}

void bench_line_write(bench_t *bench, const uint8_t *bytes, size_t count)
{
    bench->incoming = grown(bench->incoming, &bench->incoming_room, bench->incoming_tail + count, 1);
    memcpy(bench->incoming + bench->incoming_tail, bytes, count);
    bench->incoming_tail += count;
    if (!bench->line_busy && count) {
        bench->line_busy = 1;
        avr_cycle_timer_register(bench->avr, 1, on_line, bench);
    }
}

size_t bench_line_pending(bench_t *bench) { return bench->incoming_tail - bench->incoming_head; }

static void on_transmit(avr_irq_t *irq, uint32_t value, void *bench_pointer)
{
    (void)irq;
    /* W6: simavr hands a byte over as it is written; the far end has it after its stop bit. */
    bench_t *bench = bench_pointer;
    uint64_t start = bench->line_free > bench->avr->cycle ? bench->line_free : bench->avr->cycle;
    bench->line_free = start + bench->uart->cycles_per_byte;
    bench->sent = grown(bench->sent, &bench->sent_room, bench->sent_tail + 1, sizeof(sent_t));
    bench->sent[bench->sent_tail++] = (sent_t){ bench->line_free, (uint8_t)value };
    if (!bench->within_line && value != 't')
        bench->answers_begun++;
    bench->within_line = value != '\n';
    if (value == '\n')
        bench->answers_sent = bench->answers_begun;
}

size_t bench_line_read(bench_t *bench, uint8_t *bytes, size_t most)
{
    size_t count = 0;
    while (count < most && bench->sent_head < bench->sent_tail
           && bench->sent[bench->sent_head].ready <= bench->avr->cycle)
        bytes[count++] = bench->sent[bench->sent_head++].byte;
    if (bench->sent_head == bench->sent_tail)
        bench->sent_head = bench->sent_tail = 0;
    return count;
}

size_t bench_line_waiting(bench_t *bench)
{
    size_t index = bench->sent_head;
    while (index < bench->sent_tail && bench->sent[index].ready <= bench->avr->cycle)
        index++;
    return index - bench->sent_head;
}

uint64_t bench_receive_overruns(bench_t *bench) { return bench->receive_overruns; }

/* ---- life of the chip ----------------------------------------------------------------------------- */

static void no_sleep(avr_t *avr, avr_cycle_count_t cycles)
{
    (void)avr;
    (void)cycles;
}

static void settle_after_reset(bench_t *bench)
{
    avr_t *avr = bench->avr;
    /* W8: in level mode (the reset state) simavr polls a low interrupt pin every cycle. */
    for (int pin = 0; pin < 8; pin++)
        avr_extint_set_strict_lvl_trig(avr, (uint8_t)pin, 0);
    avr->run_cycle_limit = 1000000; /* a reset leaves 1: one instruction a call, and our mark of a reset */
    bench->line_busy = 0;
    bench->incoming_head = bench->incoming_tail = 0;
    bench->sent_head = bench->sent_tail = 0;
    bench->line_free = 0;
    bench->within_line = 0;
    uint32_t no_flags = 0; /* neither sleep on a status poll nor echo to standard output */
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &no_flags);
}

bench_t *bench_new(const char *mcu, uint32_t frequency, const char *elf_path)
{
    avr_global_logger_set(quiet_logger);
    bench_t *bench = calloc(1, sizeof *bench);
    if (!bench || elf_read_firmware(elf_path, &bench->firmware))
        return NULL;
    snprintf(bench->firmware.mmcu, sizeof bench->firmware.mmcu, "%s", mcu);
    bench->firmware.frequency = frequency;
    bench->firmware.vcc = bench->firmware.avcc = bench->firmware.aref = 5000;
    avr_t *avr = bench->avr = avr_make_mcu_by_name(mcu);
    if (!avr)
        return NULL;
    avr_init(avr);
    avr->log = LOG_ERROR;
    avr_load_firmware(avr, &bench->firmware);
    avr->frequency = frequency;
    avr->sleep = no_sleep;
    bench->entry_cycles = avr->address_size == 3 ? 5 : 4;
    for (avr_io_t *io = avr->io_port; io; io = io->next) {
        if (!strcmp(io->kind, "uart") && ((avr_uart_t *)io)->name == '0')
            bench->uart = (avr_uart_t *)io;
        if (!strcmp(io->kind, "adc"))
            bench->adc = (avr_adc_t *)io;
        if (!strcmp(io->kind, "timer") && ((avr_timer_t *)io)->name == '1')
            bench->timer1 = (avr_timer_t *)io;
    }
    for (int index = 0; index < avr->interrupts.vector_count; index++) {
        avr_int_vector_t *vector = avr->interrupts.vector[index];
        if (vector->vector >= MAX_VECTORS)
            continue;
        tag_t *tag = &bench->vector_tags[vector->vector];
        *tag = (tag_t){ bench, vector->vector };
        avr_irq_register_notify(vector->irq + AVR_INT_IRQ_RUNNING, on_vector, tag);
    }
    avr_irq_t *output = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT);
    avr_irq_register_notify(output, on_transmit, bench);
    avr_irq_register_notify(avr_iomem_getirq(avr, bench->uart->ubrrl.reg, NULL, AVR_IOMEM_IRQ_ALL), on_baud_write, bench);
    avr_irq_register_notify(avr_iomem_getirq(avr, bench->uart->r_ucsra, NULL, AVR_IOMEM_IRQ_ALL), on_baud_write, bench);
    avr_irq_register_notify(avr_iomem_getirq(avr, bench->uart->r_ucsrb, NULL, AVR_IOMEM_IRQ_ALL), on_control_write, bench);
    avr_irq_register_notify(avr_iomem_getirq(avr, bench->timer1->comp[0].r_ocr, NULL, AVR_IOMEM_IRQ_ALL),
                            on_compare_write, bench);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_OUT_TRIGGER), on_conversion, bench);
    avr_irq_register_notify(bench->timer1->comp[1].interrupt.irq + AVR_INT_IRQ_PENDING, on_compare_b, bench);
    if (avr->flashend > 0xffff)
        for (int slot = 0; slot < 8; slot++)
            bench->adc->muxmode[32 + slot] = bench->adc->muxmode[slot];
    settle_after_reset(bench);
    return bench;
}

void bench_reset(bench_t *bench)
{
    avr_reset(bench->avr);
    settle_after_reset(bench);
}

void bench_free(bench_t *bench)
{
    avr_terminate(bench->avr);
    free(bench->jig);
    free(bench->edges);
    free(bench->incoming);
    free(bench->sent);
    free(bench->events);
    free(bench);
}

/* The program hangs where it is, as by a bug: a jump to itself. bench_mend() puts the old instruction back. */
void bench_hang(bench_t *bench)
{
    bench->hung_at = bench->avr->pc;
    memcpy(bench->hung_instruction, bench->avr->flash + bench->hung_at, 2);
    memcpy(bench->avr->flash + bench->hung_at, "\xff\xcf", 2);
}

void bench_mend(bench_t *bench) { memcpy(bench->avr->flash + bench->hung_at, bench->hung_instruction, 2); }

uint64_t bench_cycle(bench_t *bench) { return bench->avr->cycle; }
uint64_t bench_watchdog_resets(bench_t *bench) { return bench->watchdog_resets; }

static avr_cycle_count_t on_end(avr_t *avr, avr_cycle_count_t when, void *done)
{
    (void)avr;
    (void)when;
    *(int *)done = 1;
    return 0;
}

/* Runs so many cycles; returns 0, or 1 when the program crashed or ran off its end. */
int bench_run(bench_t *bench, uint64_t cycles)
{
    avr_t *avr = bench->avr;
    int done = 0;
    uint64_t end = avr->cycle + cycles;
    avr_cycle_timer_register(avr, cycles, on_end, &done);
    while (!done) {
        int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed) {
            avr_cycle_timer_cancel(avr, on_end, &done);
            return 1;
        }
        if (avr->run_cycle_limit != 1)
            continue;
        /* a watchdog reset clears every cycle timer, ours too */
        bench->watchdog_resets++;
        settle_after_reset(bench);
        if (end <= avr->cycle)
            break;
        avr_cycle_timer_register(avr, end - avr->cycle, on_end, &done);
    }
    avr_cycle_timer_cancel(avr, on_end, &done);
    return 0;
}

/* Runs `cycles`, in pieces of `quantum`, or until so many bytes wait to be read. */
int bench_run_to_bytes(bench_t *bench, uint64_t cycles, uint64_t quantum, size_t wanted)
{
    uint64_t end = bench->avr->cycle + cycles;
    while (bench->avr->cycle < end && bench_line_waiting(bench) < wanted) {
        uint64_t left = end - bench->avr->cycle;
        if (bench_run(bench, left < quantum ? left : quantum))
            return 1;
    }
    return 0;
}

/* Each line of `lines` is written when the one before was answered. Stops at the first that is not answered within
 * `patience` cycles; returns how many bytes of `lines` were written. What came back waits to be read. */
size_t bench_exchange(bench_t *bench, const uint8_t *lines, size_t length, uint64_t patience)
{
    size_t written = 0;
    while (written < length) {
        const uint8_t *line = lines + written, *end = memchr(line, '\n', length - written);
        size_t size = end ? (size_t)(end - line) + 1 : length - written;
        uint64_t wanted = bench->answers_sent + 1;
        bench_line_write(bench, line, size);
        written += size;
        uint64_t latest = bench->avr->cycle + size * bench->uart->cycles_per_byte + patience;
        while (bench->answers_sent < wanted || bench->line_free > bench->avr->cycle)
            if (bench->avr->cycle >= latest || bench_run(bench, EXCHANGE_QUANTUM))
                return written;
    }
    return written;
}
