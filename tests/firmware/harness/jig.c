#include "jig.h"

#include <math.h>
#include <string.h>

static const double LONGEST_STEP = 110e-6, SHORTEST_STEP = 0.15e-6, GROWS = 0.15, AT_REST = 0.05;
static const double STAGE = 0.29289321881345254; /* 1 - sqrt(1/2) */
static const double DIODE_VOLT = 0.5, DIODE_OHM = 10;
static const double LEAKS = 1e-10; /* siemens; a node that nothing holds stays solvable */

typedef struct {
    double matrix[JIG_NODES][JIG_NODES + 1];
    int nodes;
} system_t;

static void to_fixed(system_t *system, int node, double siemens, double volt)
{
    system->matrix[node][node] += siemens;
    system->matrix[node][system->nodes] += siemens * volt;
}

static void solve(system_t *system, double *volt)
{
    int size = system->nodes;
    for (int k = 0; k < size; k++) /* a conductance matrix needs no pivoting */
        for (int row = k + 1; row < size; row++) {
            double factor = system->matrix[row][k] / system->matrix[k][k];
            if (factor != 0)
                for (int column = k; column <= size; column++)
                    system->matrix[row][column] -= factor * system->matrix[k][column];
        }
    for (int row = size - 1; row >= 0; row--) {
        double sum = system->matrix[row][size];
        for (int column = row + 1; column < size; column++)
            sum -= system->matrix[row][column] * volt[column];
        volt[row] = sum / system->matrix[row][row];
    }
}

static double emf_of(const jig_branch_t *branch, double time)
{
    return branch->emf_volt * sin(2 * M_PI * branch->emf_hz * time + branch->emf_phase);
}

/* What the pin is joined to, and through how much; whether a clamp diode conducts. */
static double pin_siemens(const jig_t *jig, int number, int clamp, double *volt)
{
    const jig_clip_t *clip = &jig->clip[number];
    *volt = 0;
    switch (jig->pin[number]) {
    case JIG_HIGH:
        *volt = jig->supply;
        return 1 / (clip->series + clip->pin_high);
    case JIG_LOW:
        return 1 / (clip->series + clip->pin_low);
    default:
        if (clamp) {
            *volt = clamp > 0 ? jig->supply + DIODE_VOLT : -DIODE_VOLT;
            return 1 / (clip->series + DIODE_OHM);
        }
        if (jig->pin[number] == JIG_FLOATS)
            return 0;
        *volt = jig->supply;
        return 1 / (clip->series + clip->pull_up);
    }
}

/* Ohms that hold back a change of current for one implicit stage, and the volts that the current before it makes. */
typedef struct {
    double own, mate, volt;
} held_t;

static held_t held_of(const jig_t *jig, int number, double seconds)
{
    const jig_branch_t *branch = &jig->branch[number];
    held_t held = { branch->henry / seconds, branch->mutual / seconds, 0 };
    held.volt = held.own * branch->ampere;
    if (branch->mate)
        held.volt += held.mate * jig->branch[branch->mate - 1].ampere;
    return held;
}

/* What flows in a branch for so many volts across it and across its mate: siemens for each, and what flows anyhow. */
typedef struct {
    double own, mate, ampere;
} flow_t;

static flow_t flow_of(const jig_t *jig, int number, double seconds)
{
    const jig_branch_t *branch = &jig->branch[number];
    held_t held = held_of(jig, number, seconds);
    double ohm = branch->ohm + held.own, volt = emf_of(branch, jig->time) + held.volt;
    if (!branch->mate)
        return (flow_t){ 1 / ohm, 0, volt / ohm };
    const jig_branch_t *mate = &jig->branch[branch->mate - 1];
    held_t others = held_of(jig, branch->mate - 1, seconds);
    double mate_ohm = mate->ohm + others.own, mate_volt = emf_of(mate, jig->time) + others.volt;
    double whole = ohm * mate_ohm - held.mate * held.mate;
    flow_t flow = { mate_ohm / whole, -held.mate / whole, 0 };
    flow.ampere = flow.own * volt + flow.mate * mate_volt;
    return flow;
}

static void join(system_t *system, int from, int to, int across_from, int across_to, double siemens)
{
    system->matrix[from][across_from] += siemens;
    system->matrix[to][across_to] += siemens;
    system->matrix[from][across_to] -= siemens;
    system->matrix[to][across_from] -= siemens;
}

static double across(const jig_t *jig, const jig_branch_t *branch)
{
    return jig->volt[branch->from] - jig->volt[branch->to];
}

static void stage(jig_t *jig, double seconds)
{
    int clamp[JIG_CLIPS] = { 0 };
    jig->time += seconds;
    for (int again = 0; again < 12; again++) {
        system_t system;
        memset(&system, 0, sizeof system);
        system.nodes = jig->nodes;
        for (int node = 0; node < jig->nodes; node++)
            to_fixed(&system, node, LEAKS, 0);
        for (int k = 0; k < jig->clips; k++) {
            const jig_clip_t *clip = &jig->clip[k];
            double volt, siemens = pin_siemens(jig, k, clamp[k], &volt);
            to_fixed(&system, k, siemens, volt);
            to_fixed(&system, k, 1 / clip->bleed, 0);
            if (clip->pull_down > 0)
                to_fixed(&system, k, 1 / (clip->series + clip->pull_down), 0);
            if (clip->outside_ohm > 0)
                to_fixed(&system, k, 1 / clip->outside_ohm, clip->outside_volt);
        }
        for (int k = 0; k < jig->branches; k++) {
            const jig_branch_t *branch = &jig->branch[k];
            flow_t flow = flow_of(jig, k, seconds); /* from `from` to `to` */
            join(&system, branch->from, branch->to, branch->from, branch->to, flow.own);
            if (branch->mate) {
                const jig_branch_t *mate = &jig->branch[branch->mate - 1];
                join(&system, branch->from, branch->to, mate->from, mate->to, flow.mate);
            }
            system.matrix[branch->from][system.nodes] -= flow.ampere;
            system.matrix[branch->to][system.nodes] += flow.ampere;
        }
        solve(&system, jig->volt);
        int settled = 1;
        for (int k = 0; k < jig->clips; k++) {
            int driven = jig->pin[k] == JIG_HIGH || jig->pin[k] == JIG_LOW;
            int now = driven                                    ? 0
                      : jig->volt[k] > jig->supply + DIODE_VOLT ? 1
                      : jig->volt[k] < -DIODE_VOLT              ? -1
                                                                : 0;
            settled &= now == clamp[k];
            clamp[k] = now;
        }
        if (settled)
            break;
    }
    double ampere[JIG_BRANCHES];
    for (int k = 0; k < jig->branches; k++) {
        const jig_branch_t *branch = &jig->branch[k];
        flow_t flow = flow_of(jig, k, seconds);
        ampere[k] = flow.ampere + flow.own * across(jig, branch);
        if (branch->mate)
            ampere[k] += flow.mate * across(jig, &jig->branch[branch->mate - 1]);
    }
    for (int k = 0; k < jig->branches; k++)
        jig->branch[k].ampere = ampere[k];
    for (int k = 0; k < jig->clips; k++) {
        double volt, siemens = pin_siemens(jig, k, clamp[k], &volt);
        double ampere = fabs(volt - jig->volt[k]) * siemens;
        if (ampere > jig->most_ampere)
            jig->most_ampere = ampere;
    }
}

/* What lies behind an input's resistor and its capacitor follows the clip. */
static void follow(jig_t *jig, const double *before, double seconds)
{
    for (int k = 0; k < jig->clips; k++) {
        double lag = jig->clip[k].lag, behind = (jig->volt[k] - before[k]) / seconds * lag;
        double fades = lag > 0 ? exp(-seconds / lag) : 0;
        jig->at_input[k] = jig->volt[k] - behind + (jig->at_input[k] - before[k] + behind) * fades;
    }
}

static void step(jig_t *jig, double seconds)
{
    double before[JIG_CLIPS], began[JIG_BRANCHES];
    memcpy(before, jig->volt, sizeof before);
    for (int k = 0; k < jig->branches; k++)
        began[k] = jig->branch[k].ampere;
    stage(jig, STAGE * seconds);
    for (int k = 0; k < jig->branches; k++)
        jig->branch[k].ampere = began[k] + (jig->branch[k].ampere - began[k]) * (1 - STAGE) / STAGE;
    jig->time += (1 - 2 * STAGE) * seconds;
    stage(jig, STAGE * seconds);
    follow(jig, before, seconds);
    jig->since_change += seconds;
}

void jig_pass(jig_t *jig, double seconds)
{
    if (memcmp(jig->pin, jig->pin_before, sizeof jig->pin)) {
        memcpy(jig->pin_before, jig->pin, sizeof jig->pin);
        jig->since_change = 0;
    }
    if (seconds > AT_REST) { /* long since settled */
        step(jig, seconds - AT_REST);
        seconds = AT_REST;
    }
    while (seconds > 1e-12) {
        double next = fmin(fmax(GROWS * jig->since_change, SHORTEST_STEP), LONGEST_STEP);
        next = next > 0.6 * seconds ? (next < seconds ? seconds / 2 : seconds) : next;
        step(jig, next);
        seconds -= next;
    }
}

static double uniform(jig_t *jig)
{
    jig->random = jig->random * 6364136223846793005u + 1442695040888963407u;
    return (double)(jig->random >> 33) / 2147483648.0;
}

double jig_seen(jig_t *jig, int clip)
{
    double steps = jig->at_input[clip] / jig->supply * 1024;
    double noise = 0;
    for (int k = 0; k < 12; k++)
        noise += uniform(jig) - 0.5;
    double bend = 0.6 * sin(steps / 1024 * 2 * M_PI * 1.7) + (steps < 512 ? 0.4 : -0.4); /* a bow, and the largest bit */
    steps += noise * jig->noise_steps + bend * jig->bend_steps + jig->offset_steps;
    return fmin(fmax(steps, 0), 1024) / 1024 * jig->supply;
}
