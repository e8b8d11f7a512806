"""Readings weighed against every case."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from coilbench.winding.engine.catalogue import CATALOGUE, Arrangement, Catalogue
from coilbench.winding.engine.hypotheses import Table, table_for
from coilbench.winding.engine.likelihood import Evidence, Fit, evidence_from, fit_to, unlisted_log_likelihood
from coilbench.winding.engine.templates import Template
from coilbench.winding.engine.verdict import NAMED_FROM, TIE
from coilbench.winding.readings.meter import Meter
from coilbench.winding.readings.reading import Reading

_NOT_LISTED = 0.002  # prior of a winding that is none of the catalogue's
_LEAST_LISTED = 1e-9


@dataclass(frozen=True)
class Judged:
    """The readings weighed against every case: the whole state the words and the next question are made from."""

    names: tuple[str, ...]
    readings: tuple[Reading, ...]
    meter: Meter
    table: Table
    evidence: Evidence
    fit: Fit
    posterior: NDArray[np.float64]
    unlisted: float  # probability of a winding that is none of the catalogue's

    def template(self, row: int) -> Template:
        return self.table.templates[int(self.table.template[row])]

    def leads_of(self, row: int, terminals: Sequence[int]) -> tuple[str, ...]:
        """Names of the leads on these terminals, in the order of the leads given."""
        perm = self.table.perm[row].tolist()
        return tuple(self.names[k] for k in sorted(perm.index(t) for t in terminals))

    def of_kind(self, arrangement: Arrangement) -> float:
        """The probability of this arrangement, whichever lead is which."""
        alike = np.array([template.arrangement is arrangement for template in self.table.templates])
        return float(self.posterior[alike[self.table.template]].sum())

    @cached_property
    def usual_share(self) -> float:
        """How common the likeliest arrangement is among motors with so many leads."""
        named = self.template(self.ranked[0][0]).arrangement
        alike = sum(template.prior for template in self.table.templates if template.arrangement is named)
        return alike / sum(template.prior for template in self.table.templates)

    @cached_property
    def slip(self) -> NDArray[np.float64]:
        """For each measured pair the probability that its reading is a gross slip."""
        rows = np.flatnonzero(self.fit.slip.any(axis=1))
        return np.asarray(self.posterior[rows] @ self.fit.slip[rows])

    @cached_property
    def _has_shorted_turns(self) -> NDArray[np.bool_]:
        shorted = np.array([template.fault == "shorted-turns" for template in self.table.templates])
        return np.asarray(shorted[self.table.template])

    def shorted_turns(self, row: int) -> tuple[int, float]:
        """The likeliest row with shorted turns that names the leads as ``row`` does, and how likely they are then."""
        rows = np.flatnonzero(self.table.group == self.table.group[row])
        total = float(self.posterior[rows].sum())
        rows = rows[self._has_shorted_turns[rows]]
        if not len(rows) or total <= 0:
            return row, 0.0
        return int(rows[np.argmax(self.posterior[rows])]), float(self.posterior[rows].sum()) / total

    @cached_property
    def careful(self) -> NDArray[np.float64]:
        """The posterior of somebody to whom any arrangement is nearly as likely as another."""
        log_posterior = np.round(self.table.log_careful + self.fit.log_likelihood, TIE)
        share = np.exp(log_posterior - log_posterior.max())
        return np.asarray(share / share.sum() * (1 - self.unlisted))

    @cached_property
    def careful_confidence(self) -> float:
        """How likely the likeliest naming is to them."""
        row = self.ranked[0][0]
        return float(self.careful[self.table.group == self.table.group[row]].sum())

    @cached_property
    def ranked(self) -> list[tuple[int, float]]:
        """Each likely naming of the leads by its likeliest row, with its probability, likeliest naming first.

        A row with shorted turns stands for a naming only where they are as good as sure.
        """
        mass = np.round(np.bincount(self.table.group, weights=self.posterior), TIE)
        ranked = []
        for group in np.argsort(-mass, kind="stable")[:8].tolist():
            rows = np.flatnonzero(self.table.group == group)
            shorted = self._has_shorted_turns[rows]
            sure = self.posterior[rows[shorted]].sum() >= NAMED_FROM * self.posterior[rows].sum()
            left = rows[shorted == sure]
            rows = left if len(left) else rows
            ranked.append((int(rows[np.argmax(self.posterior[rows])]), float(mass[group])))
        return ranked


def weighed(
    names: tuple[str, ...],
    readings: Sequence[Reading],
    meter: Meter,
    catalogue: Catalogue = CATALOGUE,
    fit_of: Callable[[Table, Evidence, Meter], Fit] = fit_to,
) -> Judged:
    """Exact comparison of all cases for these leads, and of a winding that is none of them.

    ``fit_of`` says how well each case explains the readings.
    """
    table = table_for(len(names), catalogue)
    evidence = evidence_from(table, names, readings, meter)
    fit = fit_of(table, evidence, meter)
    log_posterior = np.round(table.log_prior + fit.log_likelihood, TIE)
    log_other = math.log(_NOT_LISTED) + unlisted_log_likelihood(evidence)
    top = float(log_posterior.max())
    share = np.exp(log_posterior - top)
    log_total = top + math.log(float(share.sum()))
    # Never quite nothing, so that the likeliest of the catalogue can still be named and asked about.
    listed = max(1 / (1 + math.exp(min(log_other - log_total, 700.0))), _LEAST_LISTED)
    return Judged(names, tuple(readings), meter, table, evidence, fit, share / share.sum() * listed, 1 - listed)
