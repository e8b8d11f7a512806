#include "conversation.h"

#include <avr/eeprom.h>
#include <string.h>

#include "answers.h"
#include "clock.h"
#include "motion.h"
#include "outputs.h"
#include "pins.h"
#include "sensors.h"
#include "serial_line.h"
#include "step_generator.h"

namespace conversation {
namespace {

const uint16_t PROGRESS_MS = 100;
const uint16_t LOST_MS = 1000; // at most one such fault in this time
const uint8_t EVENT_ROOM = 2 * (LONGEST_LINE + 1); // an event leaves room for an answer
const uint8_t EDGE_ROOM = 250;                     // edges wait until the line is all but free

Session session;
LineCollector collector;
FrameWriter kept; // the answer to the last numbered frame
uint16_t kept_number, kept_check;
uint16_t told;
FlashText hello_why; // not told yet
bool watchdog_fault;
uint32_t progress_ms, lost_ms;
bool lost_since_told;
bool stop_unanswered;

void send(const FrameWriter &frame) { serial_line::queue(frame.text(), frame.length()); }

void refuse_unnumbered(FlashText word) {
    FrameWriter frame;
    frame.begin(PSTR("no"), 0, word);
    frame.finish();
    send(frame);
}

void refuse_with(FrameWriter &frame, uint16_t number, const Refusal &refused) {
    frame.begin(PSTR("no"), number, refused.word);
    if (refused.at.length)
        frame.field(PSTR("at"), refused.at);
    if (refused.has_range) {
        frame.field(PSTR("low"), refused.low);
        frame.field(PSTR("high"), refused.high);
    }
}

void take_next(const Frame &frame) {
    motion::sign_of_life(); // an old frame that something says again and again is none
    session.next = session.next == 65535 ? 1 : session.next + 1;
    count_one(session.counts.good);
    kept_number = frame.number;
    kept_check = frame.check;
    Request request;
    Bounds bounds = { motion::highest_rate_now(), pins::ANALOG_CHANNELS - 1, pins::CLIPS, motion::longest_rest_ms() };
    Refusal refused = read_request(frame, session.greeted, bounds, request);
    bool reset = false;
    if (refused.word)
        refuse_with(kept, frame.number, refused);
    else
        reset = answer_request(request, frame.number, session, kept);
    kept.finish();
    send(kept);
    if (reset)
        begin(PSTR("asked"), false);
}

void take_frame(const Frame &frame) {
    if (frame.number == session.next) {
        take_next(frame);
        return;
    }
    if (frame.number == kept_number && frame.check == kept_check) {
        count_one(session.counts.again);
        send(kept);
        return;
    }
    count_one(session.counts.order);
    FrameWriter answer;
    if (frame.number == kept_number) {
        answer.begin(PSTR("no"), frame.number, PSTR("reused"));
    } else {
        answer.begin(PSTR("no"), frame.number, PSTR("order"));
        answer.field(PSTR("next"), session.next);
    }
    answer.finish();
    send(answer);
}

void answer_stop() {
    FrameWriter answer;
    answer.begin(PSTR("yes"), 0, PSTR("stop"));
    answer.field(PSTR("pos"), motion::position());
    answer.finish();
    send(answer);
}

// The stop byte acts before anything that was received with it, and is answered when there is room.
void heed_stop() {
    if (serial_line::take_stop()) {
        motion::cut(motion::Why::stopped);
        collector.forget();
        stop_unanswered = true;
    }
    if (stop_unanswered && serial_line::room() > LONGEST_LINE + 1) {
        stop_unanswered = false;
        answer_stop();
    }
}

// The two lines that need no check. True when it was one of them.
bool take_bare(Text line) {
    FrameWriter answer;
    if (line.is_plainly(PSTR("stop"))) {
        motion::cut(motion::Why::stopped);
        answer_stop();
        return true;
    }
    if (line.is_plainly(PSTR("report"))) {
        answer.begin(PSTR("yes"), 0, PSTR("report"));
        write_report(session, answer);
    } else {
        return false;
    }
    answer.finish();
    send(answer);
    return true;
}

void take_line(const char *line, uint8_t length) {
    if (take_bare(Text{ line, length }))
        return;
    Frame frame;
    Reading reading = read_frame(line, length, frame);
    if (reading == Reading::frame) {
        take_frame(frame);
        return;
    }
    count_one(session.counts.bad);
    refuse_unnumbered(reading == Reading::bad_check ? PSTR("check") : PSTR("form"));
}

// Takes characters until a line is whole; one line a pass, and only when its answer has room.
void receive() {
    if (uint8_t lost = serial_line::take_lost()) {
        collector.spoil();
        lost_since_told = true;
        while (lost--)
            count_one(session.counts.lost);
    }
    char character;
    while (serial_line::room() > LONGEST_LINE + 1 && serial_line::take(character)) {
        switch (collector.take(character)) {
        case LineCollector::Found::line:
            take_line(collector.line(), collector.length());
            return;
        case LineCollector::Found::too_long:
            count_one(session.counts.over_long);
            refuse_unnumbered(PSTR("long"));
            return;
        default:
            break;
        }
    }
}

void begin_event(FrameWriter &event, FlashText word) {
    told = told == 65535 ? 1 : told + 1;
    event.begin(PSTR("tell"), told, word);
}

void gather_edges() {
    step_generator::Edges edges = step_generator::take_edges();
    if (!edges.count)
        return;
    IndexSeen &index = session.index;
    index.count = index.count + edges.count < (uint32_t)FURTHEST ? index.count + edges.count : (uint32_t)FURTHEST;
    index.level = edges.level;
    index.untold = true;
    if (edges.fell)
        index.fall = edges.fall_position;
    if (edges.rose)
        index.rise = edges.rise_position;
}

void write_fault(FrameWriter &event, FlashText what) {
    begin_event(event, PSTR("fault"));
    event.field(PSTR("what"), what);
}

void write_hello(FrameWriter &event) {
    begin_event(event, PSTR("hello"));
    event.field(PSTR("protocol"), PROTOCOL_VERSION);
    event.field(PSTR("sketch"), SKETCH_VERSION);
    event.field(PSTR("chip"), chip_word());
    event.field(PSTR("why"), hello_why);
    event.field(PSTR("next"), session.next);
}

void write_progress(FrameWriter &event) {
    motion::Progress made = motion::progress();
    begin_event(event, PSTR("progress"));
    event.field(PSTR("pos"), made.position);
    event.field(PSTR("left"), (int32_t)made.left);
    event.field(PSTR("rate"), (int32_t)made.rate);
    event.field(PSTR("state"), state_word(motion::state()));
}

// What matters most is told first. False when there is nothing to tell.
bool write_event(FrameWriter &event) {
    uint32_t now = clock::now_ms();
    if (hello_why) {
        write_hello(event);
        hello_why = nullptr;
    } else if (watchdog_fault) {
        write_fault(event, PSTR("watchdog"));
        watchdog_fault = false;
    } else if (motion::missed_a_step) {
        write_fault(event, PSTR("steps"));
        motion::missed_a_step = false;
    } else if (motion::stopped.why != motion::Why::nothing) {
        begin_event(event, PSTR("stop"));
        event.field(PSTR("why"), motion::why_word(motion::stopped.why));
        event.field(PSTR("pos"), motion::stopped.position);
        event.field(PSTR("left"), (int32_t)motion::stopped.left);
        motion::stopped.why = motion::Why::nothing;
    } else if (motion::went_off != motion::Why::nothing) {
        begin_event(event, PSTR("off"));
        event.field(PSTR("why"), motion::why_word(motion::went_off));
        motion::went_off = motion::Why::nothing;
    } else if (lost_since_told && now - lost_ms >= LOST_MS) {
        write_fault(event, PSTR("lost"));
        lost_since_told = false;
        lost_ms = now;
    } else if (in_motion(motion::state()) && (int32_t)(now - progress_ms) >= 0) {
        write_progress(event);
        progress_ms += PROGRESS_MS;
    } else if (session.index.untold && serial_line::room() >= EDGE_ROOM) {
        begin_event(event, PSTR("edge"));
        event.field(PSTR("level"), session.index.level);
        event.field(PSTR("pos"), session.index.level ? session.index.rise : session.index.fall);
        event.field(PSTR("count"), (int32_t)session.index.count);
        session.index.untold = false;
    } else {
        return false;
    }
    return true;
}

void tell() {
    if (!in_motion(motion::state()))
        progress_ms = clock::now_ms() + PROGRESS_MS;
    if (serial_line::room() < EVENT_ROOM)
        return;
    FrameWriter event;
    if (!write_event(event))
        return;
    event.finish();
    send(event);
}

// A number that differs from reset to reset: a count kept in EEPROM, spread over all numbers by an odd factor. The
// count is the sum of many cells, raised in turn: a cell stands 100,000 writes by the data sheet, so all of them
// together some six million resets.
uint16_t first_number() {
    const uint8_t CELLS = 64;
    uint16_t count = 0;
    for (uint8_t cell = 0; cell < CELLS; cell++)
        count += eeprom_read_byte((uint8_t *)(uint16_t)cell);
    uint8_t *place = (uint8_t *)(count % CELLS); // a cell's wrap from 255 to 0 takes 255 off the count, which also changes it
    eeprom_write_byte(place, (uint8_t)(eeprom_read_byte(place) + 1));
    uint16_t number = (uint16_t)(count * 40503u + 12345u);
    return number ? number : 1;
}

} // namespace

void begin(FlashText why, bool after_watchdog) {
    motion::cut(motion::Why::reset);
    FrameWriter event;
    if (motion::stopped.why == motion::Why::reset && write_event(event)) {
        event.finish();
        send(event);
    }
    motion::set_up();
    memset(&session, 0, sizeof session);
    session.next = first_number();
    session.index.level = sensors::index_level();
    kept_number = 0; // no frame has this number
    told = 0;
    hello_why = why;
    watchdog_fault = after_watchdog;
    lost_since_told = false;
    lost_ms = clock::now_ms() - LOST_MS;
}

void service() {
    heed_stop();
    gather_edges();
    receive();
    tell();
}

} // namespace conversation
