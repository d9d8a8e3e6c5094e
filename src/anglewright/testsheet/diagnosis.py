"""Which link is at fault: the single faults that what was read leaves open, and what would part them."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from anglewright.links.protocol import Array
from anglewright.testsheet.checks import Check, Reading, Readings
from anglewright.testsheet.faults import Fault
from anglewright.testsheet.fitting import Fit, Target, nearest_fit
from anglewright.testsheet.hypotheses import faults_of
from anglewright.testsheet.meter import OPEN_OHM
from anglewright.testsheet.model import SUM, Variant
from anglewright.testsheet.sheet import AxisUnderTest, allowed
from anglewright.testsheet.situation import PAIRS

ALONE = "signal-alone"  # the check for which the pin is touched: what wanders is told from what is held
BY_CHANCE = 3  # readings that a floating pin does not show by chance where another fault explains them [1]
MOST_ASKED, MOST_PARTED = 4, 3  # readings tried for parting what is left, and candidates parted [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Candidate:
    """A fault that fits all that was read, the way in which it does, and what else it lets one expect."""

    fault: Fault
    variant: Variant
    fit: Fit


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Diagnosis:
    """All that the readings of a sheet say.

    `candidates` holds the faults that fit, the healthy axis first where it does. `failed` are the checks that
    no healthy axis would show, `parted_by` those whose reading would part the candidates, best first.
    """

    tested: AxisUnderTest
    readings: Readings
    candidates: tuple[Candidate, ...]
    failed: tuple[Check, ...]
    parted_by: tuple[Check, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the faults that fit."""
        return tuple(each.fault.name for each in self.candidates)

    @property
    def verdict(self) -> str:
        """``healthy``, ``named``, ``cannot tell``, ``none of the known`` or ``nothing read``."""
        if not self.readings:
            return "nothing read"
        if not self.candidates:
            return "none of the known"
        if self.candidates[0].fault.is_none:
            return "healthy"
        return "named" if len(self.candidates) == 1 else "cannot tell"


def diagnosis(tested: AxisUnderTest, readings: Readings) -> Diagnosis:
    r"""The single faults that fit what was read.

    Parameters
    ----------
    tested : AxisUnderTest
        The axis with its sheet.
    readings : mapping
        What was read, by the key of its check; checks may be missing.

    Returns
    -------
    Diagnosis
        Every hypothesis that fits. One alone is named; several are left open together.

    Notes
    -----
    A hypothesis fits where some set of unknowns, each within its limits, brings every reading within the
    error of the meter or the noise of the code. Nothing is weighed by how likely it is: a fault is
    left out only where no such set was found, with one exception: a pin that floats could show anything, and
    is not believed to show three readings by chance that another hypothesis explains. There is one fault
    at a time; two at once can look like a third.

    References
    ----------
    derived
    """
    keys = tuple(key for key in tested.bench.keys if _is_measured(readings.get(key)))
    fits: dict[int, Fit] = {}
    found = []
    for fault in faults_of(tested.bench, sense=tested.sense):
        if _answers_fit(fault, tested, readings):
            found += _fitting(fault, tested, readings, keys=keys, fits=fits)
    found = _without_chance(found, keys, tested)
    failed = tuple(
        check for check in tested.checks if check.key in readings and not readings[check.key].passes(check)
    )
    result = Diagnosis(tested=tested, readings=readings, candidates=tuple(found), failed=failed, parted_by=())
    return _with_parting(result)


def _without_chance(found: list[Candidate], keys: tuple[str, ...], tested: AxisUnderTest) -> list[Candidate]:
    """The candidates without those that could show the readings only by chance, as their pin floats."""
    places = [tested.bench.keys.index(key) for key in keys]
    held = [each for each in found if np.sum(np.isnan(each.fit.values[places])) < BY_CHANCE]
    return held or found


def _is_measured(reading: Reading | None) -> bool:
    return reading is not None and not reading.wanders


def _answers_fit(fault: Fault, tested: AxisUnderTest, readings: Readings) -> bool:
    """Whether the fault allows every answer and every change that was read.

    A fault that shows in one check alone is no hypothesis before that check is made.
    """
    numbers = set(tested.bench.keys)
    if fault.shows_alone and not fault.is_none and not set(fault.asks) & set(readings):
        return False
    return all(
        _allows(fault, tested.check(key), reading) for key, reading in readings.items() if key not in numbers
    )


def _allows(fault: Fault, check: Check, reading: Reading) -> bool:
    if check.key in fault.demands:
        return reading.word in (*fault.demands[check.key], *_unsaid(check))
    if check.key == fault.beyond:
        return not reading.passes(check)
    return check.key in fault.free or reading.passes(check)


def _unsaid(check: Check) -> tuple[str, ...]:
    """Answers that say nothing."""
    return ("none",) if check.key == "witness-line" else ()


def _fitting(
    fault: Fault, tested: AxisUnderTest, readings: Readings, *, keys: tuple[str, ...], fits: dict[int, Fit]
) -> list[Candidate]:
    """The fault, by the variant that fits best, or nothing; `fits` keeps what other faults share."""
    best: Candidate | None = None
    for variant in fault.variants:
        if id(variant) not in fits:
            fits[id(variant)] = fit_of(tested, variant, readings, keys=keys)
        fit = fits[id(variant)]
        wanders_fit = _floats_where(tested, variant, fit, readings)
        if fit.fits and wanders_fit and (best is None or fit.miss < best.fit.miss):
            best = Candidate(fault=fault, variant=variant, fit=fit)
    return [] if best is None else [best]


def fit_of(tested: AxisUnderTest, variant: Variant, readings: Readings, *, keys: tuple[str, ...]) -> Fit:
    """The nearest that one variant of a fault comes to some of the readings, with all of its own."""
    bench = tested.bench
    columns = [bench.keys.index(key) for key in keys]
    target = _target(tested, readings, keys)

    def predict(places: Array) -> Array:
        return bench.predict(variant, places)[:, columns]

    fit = nearest_fit(predict, target, unknowns=len(bench.unknowns(variant)))
    values = bench.predict(variant, fit.unknowns[None, :])[0]
    return Fit(unknowns=fit.unknowns, values=values, miss=fit.miss)


def _target(tested: AxisUnderTest, readings: Readings, keys: tuple[str, ...]) -> Target:
    bench = tested.bench
    values = [min(readings[key].value, OPEN_OHM) for key in keys]
    units = [tested.check(key).unit for key in keys]
    period = bench.axis.codes.period
    return Target(
        measured=np.array(values, dtype=float),
        allowed=np.array(
            [
                allowed(key, value, unit=unit, bench=bench)
                for key, value, unit in zip(keys, values, units, strict=True)
            ],
            dtype=float,
        ),
        period=np.array([float(period) if unit == "count" and period else np.inf for unit in units]),
        firm=np.array([key == ALONE and tested.check(key).expected is not None for key in keys], dtype=bool),
    )


def _floats_where(tested: AxisUnderTest, variant: Variant, fit: Fit, readings: Readings) -> bool:
    """Whether the pin floats wherever the reading was said to wander."""
    keys = tested.bench.keys
    return all(
        np.isnan(fit.values[keys.index(key)])
        for key, reading in readings.items()
        if reading.wanders and key in keys
    )


def _with_parting(found: Diagnosis) -> Diagnosis:
    """The diagnosis with the checks that would part what is left open."""
    if len(found.candidates) < 2:
        return found
    return Diagnosis(
        tested=found.tested,
        readings=found.readings,
        candidates=found.candidates,
        failed=found.failed,
        parted_by=tuple(_parting(found)),
    )


def _parting(found: Diagnosis) -> Iterator[Check]:
    """Checks not made yet whose reading differs between the first candidate and another, the surest first."""
    missing = [check for check in found.tested.checks if check.key not in found.readings]
    first, told = found.candidates[0], set()
    for other in found.candidates[1 : MOST_PARTED + 1]:
        for check in _apart(found, missing, first, other):
            if check.key not in told:
                yield check
            told.add(check.key)


def _apart(found: Diagnosis, missing: list[Check], first: Candidate, second: Candidate) -> Iterator[Check]:
    """Checks that part two candidates; numbers only where no answer does."""
    answered = [check for check in missing if _parted_by_answer(first.fault, second.fault, check)]
    if answered:
        yield from answered
        return
    numbers = sorted(
        (check for check in missing if check.key in found.tested.bench.keys and check.key != SUM),
        key=lambda check: -_gap(found, check, first, second),
    )
    apart = (check for check in numbers[:MOST_ASKED] if _gap(found, check, first, second) > 1.0)
    yield from (check for check in apart if not _could_show(found, check, first, second))


def _parted_by_answer(first: Fault, second: Fault, check: Check) -> bool:
    """Whether two faults give different answers to a question, or one of them goes beyond a limit."""
    if (first.beyond == check.key) != (second.beyond == check.key):
        return check.key not in (*first.free, *second.free)
    if check.is_number or check.key in (*first.free, *second.free):
        return False
    answers = [fault.demands.get(check.key, check.good) for fault in (first, second)]
    return not set(answers[0]) & set(answers[1]) or answers[0] == () != answers[1]


def _gap(found: Diagnosis, check: Check, first: Candidate, second: Candidate) -> float:
    """How far apart two faults let one expect a reading, in units of what is allowed. [1]"""
    place = found.tested.bench.keys.index(check.key)
    values = [each.fit.values[place] for each in (first, second)]
    if np.isnan(values[0]) or np.isnan(values[1]):
        return 0.0 if np.isnan(values).all() else float("inf")
    size = allowed(check.key, float(min(values)), unit=check.unit, bench=found.tested.bench)
    return float(abs(values[0] - values[1]) / max(size, 1e-12))


def _could_show(found: Diagnosis, check: Check, first: Candidate, second: Candidate) -> bool:
    """Whether the second fault could show what the first lets one expect, with all else as read."""
    bench = found.tested.bench
    expected = float(first.fit.values[bench.keys.index(check.key)])
    if np.isnan(expected):
        return False
    more = {**found.readings, check.key: Reading(key=check.key, value=expected)}
    keys = tuple(key for key in bench.keys if _is_measured(more.get(key)))
    return fit_of(found.tested, second.variant, more, keys=keys).fits


def ohms_read(readings: Readings) -> float | None:
    """Both parts of the track less the whole, where all three were read and none is open. [ohm]"""
    values = [readings[key].value for key in PAIRS if key in readings]
    if len(values) < len(PAIRS) or max(values) >= OPEN_OHM:
        return None
    ends, low, high = values
    return low + high - ends
