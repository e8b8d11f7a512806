// The sketch's pure parts on this computer, built with address and undefined-behaviour checks.
//
//   pure_parts lines                         standard input as the line to a greeted board: a verdict for each line
//   pure_parts ramp STEPS START RUN GAIN [N] slices "steps cycles rate"; eases after N slices
//   pure_parts rate HIGH LOW                 highest rate for a pulse, cycles
//   pure_parts write KIND NUMBER             reads "name value" pairs, writes a frame of them

#include <cstdio>
#include <cstdlib>
#include <cstring>

#include "frames.h"
#include "bounds.h"
#include "ramp.h"
#include "requests.h"

static void print_verdict(const char *line, uint8_t length) {
    Text text = { line, length };
    if (text.is_plainly("stop") || text.is_plainly("report")) {
        puts("bare");
        return;
    }
    // A copy of exactly this length, so that a read past its end is caught.
    char *copy = (char *)malloc(length ? length : 1);
    memcpy(copy, line, length);
    Frame frame;
    Reading reading = read_frame(copy, length, frame);
    if (reading != Reading::frame) {
        puts(reading == Reading::bad_check ? "check" : "form");
    } else {
        Request request;
        Bounds bounds = { highest_rate(cycles_for_ns(2500), cycles_for_ns(2500)), 15, 8, REST_MS };
        Refusal refused = read_request(frame, true, bounds, request);
        if (!refused.word)
            puts("ok");
        else if (refused.at.length)
            printf("%s at=%.*s\n", refused.word, refused.at.length, refused.at.start);
        else
            puts(refused.word);
    }
    free(copy);
}

static int lines() {
    LineCollector collector;
    int character;
    while ((character = getchar()) != EOF) {
        LineCollector::Found found = collector.take((char)character);
        if (found == LineCollector::Found::line)
            print_verdict(collector.line(), collector.length());
        else if (found == LineCollector::Found::too_long)
            puts("long");
    }
    return 0;
}

static int ramp(int count, char **words) {
    uint32_t numbers[5] = { 1, 10, 10, 1, UINT32_MAX };
    for (int i = 0; i < count && i < 5; i++)
        numbers[i] = (uint32_t)strtoul(words[i], nullptr, 10);
    Ramp plan;
    plan.begin(numbers[0], numbers[1], numbers[2], numbers[3]);
    printf("ms %u\n", Ramp::duration_ms(numbers[0], numbers[1], numbers[2], numbers[3]));
    Slice slice;
    for (uint32_t made = 0; plan.next(slice); made++) {
        printf("%u %u %u\n", slice.steps, slice.cycles, plan.rate());
        if (made == numbers[4])
            plan.ease();
    }
    return 0;
}

static int write_frame(const char *kind, uint16_t number) {
    FrameWriter writer;
    writer.begin(kind, number, "word");
    char name[32], value[128];
    while (scanf("%31s %127s", name, value) == 2) {
        char *end;
        long whole = strtol(value, &end, 10);
        if (*end)
            writer.field(name, Text{ value, (uint8_t)strlen(value) });
        else
            writer.field(name, (int32_t)whole);
    }
    writer.finish();
    fwrite(writer.text(), 1, writer.length(), stdout);
    return 0;
}

int main(int count, char **words) {
    if (count >= 2 && !strcmp(words[1], "lines"))
        return lines();
    if (count >= 6 && !strcmp(words[1], "ramp"))
        return ramp(count - 2, words + 2);
    if (count == 4 && !strcmp(words[1], "write"))
        return write_frame(words[2], (uint16_t)atoi(words[3]));
    if (count == 4 && !strcmp(words[1], "rate"))
        return printf("%d\n", highest_rate((uint16_t)atoi(words[2]), (uint16_t)atoi(words[3]))) < 0;
    return 2;
}
