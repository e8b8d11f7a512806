#include "jig.h"

#include <math.h>
#include <string.h>

static const double LONGEST_STEP = 25e-6, AT_REST = 0.05;
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

static void step(jig_t *jig, double seconds)
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
            double held = branch->henry / seconds, siemens = 1 / (branch->ohm + held);
            double own = (emf_of(branch, jig->time) + held * branch->ampere) * siemens; /* from `from` to `to` */
            system.matrix[branch->from][branch->from] += siemens;
            system.matrix[branch->to][branch->to] += siemens;
            system.matrix[branch->from][branch->to] -= siemens;
            system.matrix[branch->to][branch->from] -= siemens;
            system.matrix[branch->from][system.nodes] -= own;
            system.matrix[branch->to][system.nodes] += own;
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
    for (int k = 0; k < jig->branches; k++) {
        jig_branch_t *branch = &jig->branch[k];
        double held = branch->henry / seconds;
        double across = jig->volt[branch->from] - jig->volt[branch->to] + emf_of(branch, jig->time);
        branch->ampere = (across + held * branch->ampere) / (branch->ohm + held);
    }
    for (int k = 0; k < jig->clips; k++) {
        double volt, siemens = pin_siemens(jig, k, clamp[k], &volt);
        double ampere = fabs(volt - jig->volt[k]) * siemens;
        if (ampere > jig->most_ampere)
            jig->most_ampere = ampere;
    }
}

void jig_pass(jig_t *jig, double seconds)
{
    if (seconds > AT_REST) { /* long since settled */
        step(jig, seconds - AT_REST);
        seconds = AT_REST;
    }
    int steps = (int)ceil(seconds / LONGEST_STEP);
    for (int k = 0; k < steps; k++)
        step(jig, seconds / steps);
}

static double uniform(jig_t *jig)
{
    jig->random = jig->random * 6364136223846793005u + 1442695040888963407u;
    return (double)(jig->random >> 33) / 2147483648.0;
}

double jig_seen(jig_t *jig, int clip)
{
    double steps = jig->volt[clip] / jig->supply * 1024;
    double noise = 0;
    for (int k = 0; k < 12; k++)
        noise += uniform(jig) - 0.5;
    double bend = 0.6 * sin(steps / 1024 * 2 * M_PI * 1.7) + (steps < 512 ? 0.4 : -0.4); /* a bow, and the largest bit */
    steps += noise * jig->noise_steps + bend * jig->bend_steps + jig->offset_steps;
    return fmin(fmax(steps, 0), 1024) / 1024 * jig->supply;
}
