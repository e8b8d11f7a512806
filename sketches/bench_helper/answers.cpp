#include "answers.h"

#include "clips.h"
#include "motion.h"
#include "outputs.h"
#include "pins.h"
#include "sensors.h"

namespace {

const char CLIP_NAMES[] PROGMEM = "a\0b\0c\0d\0e\0f\0g\0h";

void refuse(FrameWriter &answer, uint16_t number, FlashText word) { answer.begin(PSTR("no"), number, word); }

// Something else is on the pins. True when it was refused.
bool refuse_by(bool differs, uint16_t number, FrameWriter &answer) {
    if (differs)
        refuse(answer, number, PSTR("by"));
    return differs;
}

// Too little of the coil budget is left. True when it was refused.
bool refuse_duty(uint32_t wait, uint16_t number, FrameWriter &answer) {
    if (!wait)
        return false;
    refuse(answer, number, PSTR("duty"));
    answer.field(PSTR("wait"), (int32_t)wait);
    return true;
}

// A move or trip would leave the range of pos. True when it was refused.
bool refuse_distance(int32_t steps, uint16_t number, FrameWriter &answer) {
    int32_t low = fewest_steps(motion::position()), high = most_steps(motion::position());
    if (steps >= low && steps <= high)
        return false;
    refuse(answer, number, PSTR("range"));
    answer.field(PSTR("at"), PSTR("steps"));
    answer.field(PSTR("low"), low);
    answer.field(PSTR("high"), high);
    return true;
}

// The board's own supply is too low for its outputs to be relied on. True when it was refused.
bool refuse_supply(uint16_t number, FrameWriter &answer) {
    if (!sensors::supply_is_low())
        return false;
    refuse(answer, number, PSTR("supply"));
    answer.field(PSTR("mv"), sensors::supply_last());
    return true;
}

// By itself: inlined where it is called it takes 170 bytes more.
__attribute__((noinline)) motion::Trip trip_of(const Request &request) {
    const int32_t *values = request.values;
    motion::Trip trip = { values[MoveFields::steps],
                          (uint32_t)values[MoveFields::start],
                          (uint32_t)values[MoveFields::run],
                          (uint32_t)values[MoveFields::gain],
                          false,
                          0,
                          0 };
    if (request.verb == Verb::trip) {
        trip.comes_back = true;
        trip.rest_ms = (uint32_t)values[TripFields::rest];
        trip.back = (uint32_t)values[TripFields::back];
    }
    return trip;
}

sensors::Against reference_of(const int32_t *values) {
    int32_t against = values[ReadFields::against];
    return against == LEFT_OUT ? sensors::Against::supply : (sensors::Against)against;
}

// State and outputs: what the protocol checks after the ranges. True when the request may be carried out.
bool may_run(const Request &request, uint16_t number, FrameWriter &answer) {
    if (!allowed_in(request.verb, motion::state(), request)) {
        refuse(answer, number, PSTR("busy"));
        answer.field(PSTR("state"), state_word(motion::state()));
        return false;
    }
    const int32_t *values = request.values;
    switch (request.verb) {
    case Verb::outputs:
        return !values[OutputsFields::on]
               || (!refuse_by(motion::by() == By::clips, number, answer) && !refuse_supply(number, answer)
                   && !refuse_duty(motion::wait_to_hold(), number, answer));
    case Verb::move:
    case Verb::trip:
    case Verb::pace: {
        if (!motion::outputs_on()) {
            refuse(answer, number, PSTR("off"));
            return false;
        }
        motion::Trip trip = trip_of(request);
        return !refuse_duty(request.verb == Verb::pace ? motion::wait_to_stand((uint16_t)COIL_MOVE_MS)
                                                       : motion::wait_to_move(trip, motion::duration_ms(trip)),
                            number, answer)
               && !refuse_distance(values[MoveFields::steps], number, answer);
    }
    case Verb::pulse:
    case Verb::drive:
        if (!motion::outputs_on())
            return true;
        refuse(answer, number, PSTR("on"));
        return false;
    case Verb::read: // the supply isn't watched so long
        if (reference_of(values) == sensors::Against::supply || !motion::outputs_on())
            return true;
        refuse(answer, number, PSTR("on"));
        return false;
    case Verb::coil:
        if (refuse_by(motion::by() != By::coils, number, answer))
            return false;
        return !values[CoilFields::pattern]
               || (!refuse_supply(number, answer)
                   && !refuse_duty(motion::wait_to_stand((uint16_t)values[CoilFields::ms]), number, answer));
    case Verb::pair:
    case Verb::rise:
        return !refuse_by(motion::by() != By::clips, number, answer) && !refuse_supply(number, answer);
    default:
        return true;
    }
}

void write_identity(FrameWriter &answer) {
    answer.field(PSTR("protocol"), PROTOCOL_VERSION);
    answer.field(PSTR("sketch"), SKETCH_VERSION);
    answer.field(PSTR("chip"), chip_word());
}

void write_pins(PinGroup of, FrameWriter &answer) {
    if (of == PinGroup::driver) {
        answer.field(PSTR("step"), STEP_PIN);
        answer.field(PSTR("dir"), DIR_PIN);
        answer.field(PSTR("enable"), ENABLE_PIN);
        answer.field(PSTR("active"), ENABLE_ACTIVE);
    } else if (of == PinGroup::coils) {
        answer.field(PSTR("a"), COIL_1_PIN);
        answer.field(PSTR("b"), COIL_2_PIN);
        answer.field(PSTR("c"), COIL_3_PIN);
        answer.field(PSTR("d"), COIL_4_PIN);
        answer.field(PSTR("active"), COIL_ACTIVE);
    } else if (of == PinGroup::clips) {
        for (uint8_t clip = 0; clip < pins::CLIPS; clip++)
            answer.field(CLIP_NAMES + 2 * clip, outputs::clip_pin(clip));
    } else {
        answer.field(PSTR("index"), INDEX_PIN);
        answer.field(PSTR("first"), pins::FIRST_ANALOG_PIN);
        answer.field(PSTR("channels"), pins::ANALOG_CHANNELS);
    }
}

void write_pulse(FrameWriter &answer) {
    const motion::Pulse &pulse = motion::pulse();
    answer.field(PSTR("high"), (int32_t)ns_of_cycles(pulse.high));
    answer.field(PSTR("low"), (int32_t)ns_of_cycles(pulse.low));
    answer.field(PSTR("setup"), (int32_t)ns_of_cycles(pulse.setup));
}

void write_limits(LimitGroup of, FrameWriter &answer) {
    if (of == LimitGroup::rates) {
        answer.field(PSTR("lowest"), LOWEST_RATE);
        answer.field(PSTR("highest"), motion::highest_rate_now());
        answer.field(PSTR("gain"), HIGHEST_GAIN);
        answer.field(PSTR("steps"), MOST_STEPS);
    } else if (of == LimitGroup::pulse) {
        write_pulse(answer);
        answer.field(PSTR("most"), LONGEST_PULSE_NS);
    } else if (of == LimitGroup::coils) {
        const CoilBudget &budget = motion::coil_budget();
        answer.field(PSTR("pattern"), COIL_MS);
        answer.field(PSTR("stand"), STAND_BUDGET_MS);
        answer.field(PSTR("on"), ON_BUDGET_MS);
        answer.field(PSTR("back"), ON_BACK);
        answer.field(PSTR("standleft"), budget.standing());
        answer.field(PSTR("onleft"), budget.on());
    } else {
        answer.field(PSTR("beat"), BEAT_MS);
        answer.field(PSTR("ease"), EASE_MS);
        answer.field(PSTR("rest"), REST_MS);
        answer.field(PSTR("idle"), motion::idle_ms());
        answer.field(PSTR("line"), LONGEST_LINE);
    }
}

void write_counts(const Counts &counts, FrameWriter &answer) {
    answer.field(PSTR("good"), counts.good);
    answer.field(PSTR("bad"), counts.bad);
    answer.field(PSTR("long"), counts.over_long);
    answer.field(PSTR("order"), counts.order);
    answer.field(PSTR("again"), counts.again);
    answer.field(PSTR("lost"), counts.lost);
}

void set_drive(const int32_t *values, FrameWriter &answer) {
    By by = (By)values[DriveFields::by];
    int32_t wanted = values[DriveFields::form];
    Form form = wanted == LEFT_OUT ? Form::full : (Form)wanted;
    motion::drive_by(by, form);
    answer.field(PSTR("by"), by == By::coils ? PSTR("coils") : by == By::clips ? PSTR("clips") : PSTR("driver"));
    answer.field(PSTR("form"), form == Form::wave ? PSTR("wave") : form == Form::half ? PSTR("half") : PSTR("full"));
}

void begin_trip(const Request &request, FrameWriter &answer) {
    motion::Trip trip = trip_of(request);
    answer.field(PSTR("ms"), (int32_t)motion::duration_ms(trip));
    motion::begin(trip);
}

void write_reading(const int32_t *values, FrameWriter &answer) {
    int32_t wanted = values[ReadFields::samples];
    uint8_t samples = wanted == LEFT_OUT ? 1 : (uint8_t)wanted;
    sensors::Against reference = reference_of(values);
    uint16_t sum = sensors::sum_of((uint8_t)values[ReadFields::channel], samples, reference);
    answer.field(PSTR("raw"), sum);
    answer.field(PSTR("mv"), sensors::millivolt(sum, samples, reference));
    answer.field(PSTR("supply"), sensors::supply_last());
}

// True when it was refused for what the board found on the clips.
bool refuse_clips(const clips::Measured &measured, uint16_t number, FrameWriter &answer) {
    if (measured.found == clips::Found::measured)
        return false;
    if (measured.found == clips::Found::stopped) {
        refuse(answer, number, PSTR("stopped"));
        return true;
    }
    refuse(answer, number, measured.found == clips::Found::volt ? PSTR("volt") : PSTR("wire"));
    answer.field(PSTR("at"), CLIP_NAMES + 2 * measured.at);
    answer.field(PSTR("raw"), measured.sums[0]);
    return true;
}

// By itself, so that the voltages take no room on the stack in motion.
__attribute__((noinline)) void measure_pair(const int32_t *values, uint16_t number, FrameWriter &answer) {
    clips::Measured measured;
    clips::measure((uint8_t)(values[PairFields::high] - 1), (uint8_t)(values[PairFields::low] - 1), measured);
    if (refuse_clips(measured, number, answer))
        return;
    for (uint8_t clip = 0; clip < pins::CLIPS; clip++)
        answer.field(CLIP_NAMES + 2 * clip, measured.sums[clip]);
}

__attribute__((noinline)) void watch_rise(const int32_t *values, uint16_t number, FrameWriter &answer) {
    clips::Rise asked = { (uint8_t)((uint8_t)values[RiseFields::high] - 1), (uint8_t)((uint8_t)values[RiseFields::low] - 1),
                          (uint8_t)((uint8_t)values[RiseFields::see] - 1), 0, (uint16_t)values[RiseFields::at] };
    int8_t hold = (int8_t)values[RiseFields::hold];
    asked.hold = hold == LEFT_OUT ? asked.low : (uint8_t)(hold - 1);
    clips::Measured measured;
    clips::watch_rise(asked, measured);
    if (refuse_clips(measured, number, answer))
        return;
    answer.field(PSTR("raw"), measured.sums[0]);
    answer.field(PSTR("at"), asked.at);
}

void write_position(FrameWriter &answer) { answer.field(PSTR("pos"), motion::position()); }

void write_beat(FrameWriter &answer) {
    answer.field(PSTR("state"), state_word(motion::state()));
    motion::Progress made = motion::progress();
    answer.field(PSTR("pos"), made.position);
    answer.field(PSTR("rate"), (int32_t)made.rate);
    answer.field(PSTR("out"), motion::outputs_on());
}

} // namespace

FlashText chip_word() { return PSTR(CHIP_NAME); }

void write_report(const Session &session, FrameWriter &answer) {
    answer.field(PSTR("protocol"), PROTOCOL_VERSION);
    answer.field(PSTR("sketch"), SKETCH_VERSION);
    answer.field(PSTR("state"), state_word(motion::state()));
    write_position(answer);
    answer.field(PSTR("next"), session.next);
}

bool answer_request(const Request &request, uint16_t number, Session &session, FrameWriter &answer) {
    if (!may_run(request, number, answer))
        return false;
    const int32_t *values = request.values;
    answer.begin(PSTR("yes"), number, verb_word(request.verb));
    switch (request.verb) {
    case Verb::hello:
        session.greeted = true;
        write_identity(answer);
        answer.field(PSTR("can"), PSTR("driver,coils,index,read,supply"));
        break;
    case Verb::report:
        write_report(session, answer);
        break;
    case Verb::pins:
        write_pins((PinGroup)values[PinsFields::of], answer);
        break;
    case Verb::limits:
        write_limits((LimitGroup)values[LimitsFields::of], answer);
        break;
    case Verb::counts:
        write_counts(session.counts, answer);
        break;
    case Verb::beat:
        write_beat(answer);
        break;
    case Verb::pulse:
        motion::set_pulse(cycles_for_ns((uint32_t)values[PulseFields::high]),
                          cycles_for_ns((uint32_t)values[PulseFields::low]),
                          cycles_for_ns((uint32_t)values[PulseFields::setup]));
        write_pulse(answer);
        answer.field(PSTR("highest"), motion::highest_rate_now());
        break;
    case Verb::drive:
        set_drive(values, answer);
        break;
    case Verb::idle:
        motion::set_idle_ms((uint16_t)values[IdleFields::ms]);
        answer.field(PSTR("ms"), values[IdleFields::ms]);
        break;
    case Verb::outputs:
        motion::switch_outputs(values[OutputsFields::on]);
        answer.field(PSTR("on"), values[OutputsFields::on]);
        break;
    case Verb::move:
    case Verb::trip:
        begin_trip(request, answer);
        break;
    case Verb::pace:
        answer.field(PSTR("ms"), motion::pace(values[PaceFields::steps], (uint16_t)values[PaceFields::each]));
        break;
    case Verb::ease:
        motion::ease();
        write_position(answer);
        break;
    case Verb::stop:
        motion::cut(motion::Why::stopped);
        write_position(answer);
        break;
    case Verb::coil:
        motion::show_coil((uint8_t)values[CoilFields::pattern], (uint16_t)values[CoilFields::ms]);
        answer.field(PSTR("pattern"), values[CoilFields::pattern]);
        answer.field(PSTR("ms"), values[CoilFields::ms]);
        break;
    case Verb::read:
        write_reading(values, answer);
        break;
    case Verb::pair:
        measure_pair(values, number, answer);
        break;
    case Verb::rise:
        watch_rise(values, number, answer);
        break;
    case Verb::scale:
        if (values[ScaleFields::bandgap] != LEFT_OUT)
            sensors::keep_bandgap((uint16_t)values[ScaleFields::bandgap]);
        answer.field(PSTR("bandgap"), sensors::bandgap_millivolt());
        answer.field(PSTR("kept"), sensors::bandgap_is_kept());
        break;
    case Verb::supply:
        answer.field(PSTR("mv"), sensors::supply_millivolt());
        break;
    case Verb::index:
        answer.field(PSTR("level"), sensors::index_level());
        answer.field(PSTR("count"), (int32_t)session.index.count);
        answer.field(PSTR("fall"), session.index.fall);
        answer.field(PSTR("rise"), session.index.rise);
        break;
    case Verb::zero:
        motion::zero();
        session.index = IndexSeen{ 0, sensors::index_level(), false, 0, 0 };
        write_position(answer);
        break;
    default:
        break;
    }
    return request.verb == Verb::reset;
}
