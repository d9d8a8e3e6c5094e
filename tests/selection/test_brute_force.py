"""200 random needs over random catalogues: the ranking equals one worked out choice by choice, another way.

Nothing here calls the budget or a link. Every choice is weighed with plain formulas on Python floats: the
room at the ends, speed, life, codes per error, and the calibrated half-width from the definition of the two
error families, the planned line taken out by ``numpy.polyfit``.
"""

import itertools
import math
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from numpy.polynomial.chebyshev import chebvander

from anglewright.selection.judging import CHECKS
from anglewright.selection.ranking import kept
from anglewright.shapes import family

PLACES, POINTS = 55, 9
NINETY_FIVE = 1.959963984540054  # two-sided normal quantile, any table


@dataclass(frozen=True)
class Sensor:
    """A random sensor: degrees, rpm, strokes, units of money."""

    name: str
    kind: str
    cost: float
    reach: float
    mechanical: float
    limit: float
    steps: float
    noise: float
    top_rpm: float
    life_cycles: float
    life_turns: float

    def table(self) -> dict[str, object]:
        """As it stands in a rig file."""
        if self.kind == "potentiometer":
            return {
                "kind": "potentiometer",
                "electrical_travel": f"{self.reach!r} deg",
                "mechanical_travel": "endless" if math.isinf(self.mechanical) else f"{self.mechanical!r} deg",
                "linearity": f"{100 * self.limit!r} %",
                "power": "1 W",
            }
        if self.kind == "serial":
            return {
                "kind": "serial",
                "bits": int(math.log2(self.steps)),
                "non_linearity": f"{self.limit!r} deg",
                "hysteresis": "0 deg",
                "noise": f"{self.noise!r} deg rms",
            }
        return {"kind": "incremental", "lines": int(self.steps) // 4, "line_error": f"{self.limit!r} deg"}


@dataclass(frozen=True)
class Need:
    """A random need, degrees and seconds."""

    low: float
    high: float
    beyond: float
    speed: float
    error: float
    homing: bool
    strokes: int
    hunting: int
    hunting_size: float
    settles: str
    both_sides: bool
    readings: int
    reference: tuple[float, float]
    play: float
    clamp: float
    noise: float
    bits: int = 12

    def text(self) -> str:
        """As it stands in a rig file; what is not said of the circuit is nothing."""
        return f"""
[axis.a]
when_unpowered = "holds"
motion = {{ from = "{self.low!r} deg", to = "{self.high!r} deg", speed = "{self.speed!r} deg/s",
  settles = "{self.settles}" }}
need = {{ error = "{self.error!r} deg", homing = "{"allowed" if self.homing else "not allowed"}",
  strokes = {self.strokes}, hunting = {self.hunting}, hunting_size = "{self.hunting_size!r} deg" }}
stops = {{ low = "{self.low - self.beyond!r} deg", high = "{self.high + self.beyond!r} deg" }}
coupling = {{ kind = "d-bore", play = "{self.play!r} deg" }}
mount = {{ within = "{self.clamp!r} deg" }}
wiring = {{ series = "0 ohm" }}
converter = {{ bits = {self.bits}, noise = "{self.noise!r} LSB rms", offset = "0 LSB" }}
[axis.a.plan]
points = {POINTS}
readings = {self.readings}
approach = "{"both sides" if self.both_sides else "one side"}"
reference = {{ per_point = "{self.reference[0]!r} deg", shared = "{self.reference[1]!r} deg" }}
""".replace(",\n  ", ", ")


@dataclass
class Weighed:
    """One choice, weighed by plain formulas."""

    name: tuple[str, str]
    cost: float
    half_width: float
    against: set[str] = field(default_factory=set)


def line_leaves(values: np.ndarray, planned: np.ndarray) -> np.ndarray:
    """Curves (P, M) less the straight lines through their values at the planned places (K, M)."""
    at, seen = np.linspace(-1.0, 1.0, PLACES), np.linspace(-1.0, 1.0, POINTS)
    return np.asarray(values - np.vander(at, 2) @ np.polyfit(seen, planned, 1))


@lru_cache(maxsize=1)
def spread_of_shapes() -> np.ndarray:
    """Mean of the products of coefficients: members of the family, and mirrored, of a uniform size."""
    members = np.concatenate([family(), family() * np.array([1.0, -1.0] * 3 + [1.0])])
    return np.asarray(members.T @ members / len(members) / 3.0)


def track_variance(used: float) -> np.ndarray:
    """Variance of a track's departure, limit 1, after the line; `used` of the track, centred, (P,)."""
    left = line_leaves(
        chebvander(used * np.linspace(-1.0, 1.0, PLACES), 6),
        chebvander(used * np.linspace(-1.0, 1.0, POINTS), 6),
    )
    return np.asarray(np.sum(left @ spread_of_shapes() * left, axis=1))


def turn_variance(turned: float) -> np.ndarray:
    """The same of waves, one to four a turn, any phase, uniform size up to 1, over so many degrees."""

    def waves(count: int) -> np.ndarray:
        angle = np.radians(turned / 2.0) * np.linspace(-1.0, 1.0, count)
        rows = [(np.cos(k * angle), np.sin(k * angle)) for k in range(1, 5)]
        return np.array([each for pair in rows for each in pair]).T

    return np.asarray(np.sum(line_leaves(waves(PLACES), waves(POINTS)) ** 2, axis=1) / 24.0)


def noise_gain() -> np.ndarray:
    """Squared gain from fresh errors of nine places to the line, (P,): 1/K + x^2/S_xx."""
    at, seen = np.linspace(-1.0, 1.0, PLACES), np.linspace(-1.0, 1.0, POINTS)
    return np.asarray(1.0 / POINTS + at**2 / np.sum(seen**2))


def half_width(need: Need, sensor: Sensor, ratio: float, backlash: float) -> float:
    """Calibrated half-width, degrees at the axis; nan where the sensor does not reach."""
    turned, sides = ratio * (need.high - need.low), 2.0 if need.both_sides else 1.0
    if sensor.kind != "incremental" and turned > sensor.reach * (need.high - need.low) / _between_stops(need):
        return math.nan
    fresh = 1.0 + noise_gain() / (need.readings * sides)
    if sensor.kind == "potentiometer":
        count = sensor.reach / 2.0**need.bits
        variance = sensor.limit**2 * track_variance(turned / sensor.reach) * sensor.reach**2
        variance = variance + count**2 * (need.noise**2 + 1.0 / 12.0) * fresh
    else:
        count = 360.0 / sensor.steps
        variance = sensor.limit**2 * turn_variance(turned) + count**2 / 12.0 * fresh
        if sensor.kind == "serial":
            variance = variance + sensor.noise**2 * fresh
        else:  # a homing within 1 deg, and within half a count of its edge, on the day and in use
            variance = variance + 2.0 * (1.0 + (0.5 * count) ** 2) / 3.0
    at_axis = variance / ratio**2
    at_axis = at_axis + need.reference[0] ** 2 / 3.0 * noise_gain() / sides + need.reference[1] ** 2 / 3.0
    half = (need.play / ratio + backlash) / 2.0
    side = (0 if need.both_sides else 1) - (need.settles == "one-sided")
    at_axis = at_axis + half**2 * {"two-sided": 1.0, "one-sided": 0.0, "dithered": 1.0 / 3.0}[need.settles]
    return float(np.max(abs(side) * half + NINETY_FIVE * np.sqrt(at_axis)))


def _between_stops(need: Need) -> float:
    return need.high - need.low + 2.0 * need.beyond


def against(need: Need, sensor: Sensor, ratio: float, *, backlash: float, good: float) -> set[str]:
    """Every check that rules a choice out."""
    found = set()
    driven = ratio * _between_stops(need) + 2.0 * (need.play + ratio * backlash + need.clamp)
    if sensor.kind != "incremental" and driven + 10.0 > sensor.reach:
        found.add("travel" if sensor.kind == "potentiometer" else "wrap")
    if driven > sensor.mechanical:
        found.add("stops")
    if ratio * need.speed > 6.0 * sensor.top_rpm:
        found.add("speed")
    moves = need.strokes * (need.high - need.low) + need.hunting * need.hunting_size
    worn = need.strokes + need.hunting > sensor.life_cycles
    if worn or 2.0 * moves * ratio / 360.0 > sensor.life_turns:
        found.add("life")
    if sensor.kind == "incremental" and not need.homing:
        found.add("homing")
    steps = 2.0**need.bits / sensor.reach if sensor.kind == "potentiometer" else sensor.steps / 360.0
    if steps * ratio * need.error < 10.0:
        found.add("resolution")
    if good > need.error:
        found.add("error")
    return found


def random_need(rng: np.random.Generator) -> Need:
    low = float(rng.uniform(-180.0, 0.0))
    span = float(rng.uniform(30.0, 400.0))
    return Need(
        low=round(low, 3),
        high=round(low + span, 3),
        beyond=round(float(rng.uniform(0.0, 15.0)), 3),
        speed=round(float(rng.uniform(10.0, 2000.0)), 3),
        error=round(float(10.0 ** rng.uniform(-0.5, 1.2)), 4),
        homing=bool(rng.random() < 0.5),
        strokes=int(10 ** rng.uniform(2.0, 6.0)),
        hunting=int(10 ** rng.uniform(0.0, 6.0)),
        hunting_size=round(float(rng.uniform(0.1, 2.0)), 3),
        settles=str(rng.choice(["two-sided", "one-sided", "dithered"])),
        both_sides=bool(rng.random() < 0.5),
        readings=int(rng.integers(1, 10)),
        reference=(round(float(rng.uniform(0.01, 0.5)), 4), round(float(rng.uniform(0.01, 0.3)), 4)),
        play=round(float(rng.uniform(0.01, 4.0)), 3),
        clamp=round(float(rng.uniform(0.5, 4.0)), 3),
        noise=round(float(rng.uniform(0.2, 3.0)), 3),
    )


def random_sensor(rng: np.random.Generator, name: str) -> Sensor:
    kind = str(rng.choice(["potentiometer", "potentiometer", "serial", "incremental"]))
    track = kind == "potentiometer"
    reach = {"potentiometer": round(float(rng.uniform(200.0, 3700.0)), 2), "serial": 360.0}.get(
        kind, math.inf
    )
    in_turns, wears = bool(rng.random() < 0.5), track and bool(rng.random() < 0.8)
    life = float(int(10 ** rng.uniform(3.5, 7.0))) if wears else math.inf
    bits = int(rng.integers(10, 15))
    return Sensor(
        name=name,
        kind=kind,
        cost=float(rng.integers(1, 6)),
        reach=reach,
        mechanical=round(reach * 1.02, 2) if track and rng.random() < 0.5 else math.inf,
        limit=round(float(rng.uniform(0.0005, 0.05)), 5)
        if track
        else round(float(rng.uniform(0.05, 1.5)), 3),
        steps=4.0 * int(rng.integers(50, 3000)) if kind == "incremental" else 2.0**bits,
        noise=round(float(rng.uniform(0.01, 0.2)), 3),
        top_rpm=float(int(10 ** rng.uniform(1.0, 4.0))),
        life_cycles=math.inf if in_turns else life,
        life_turns=life if in_turns else math.inf,
    )


def offered(make: Any, sensor: Sensor) -> Any:
    """The same sensor as the catalogue would have it."""
    mount = {"kind": "homed", "within": "0 deg", "repeatability": "1 deg"}
    return make.sensor(
        sensor.name,
        sensor.table(),
        cost=sensor.cost,
        top_speed=sensor.top_rpm * 2.0 * math.pi / 60.0,
        life_cycles=None if math.isinf(sensor.life_cycles) else sensor.life_cycles,
        life_turns=None if math.isinf(sensor.life_turns) else sensor.life_turns,
        tables={"mount": mount} if sensor.kind == "incremental" else {},
    )


def random_drives(rng: np.random.Generator) -> dict[tuple[int, int], tuple[float, float]]:
    """Cost and backlash [mm] of pairs of gears, one pair of each ratio."""
    stock = rng.choice(np.arange(12, 100), size=8, replace=False).tolist()
    pairs = {a / b: (a, b) for a, b in itertools.permutations(stock, 2)}
    chosen = rng.permutation(sorted(pairs))[: int(rng.integers(2, 21))]
    costs = [(float(rng.integers(1, 4)), round(float(rng.uniform(0.0, 0.3)), 3)) for _ in chosen]
    return {pairs[ratio]: cost for ratio, cost in zip(chosen.tolist(), costs, strict=True)}


def enumerated(
    need: Need, sensors: list[Sensor], drives: dict[tuple[int, int], tuple[float, float]]
) -> list[Weighed]:
    """Every choice, one after the other."""
    found = []
    for sensor, ((first, second), (cost, mm)) in itertools.product(sensors, drives.items()):
        ratio, backlash = first / second, math.degrees(2.0 * mm / first)
        good = half_width(need, sensor, ratio, backlash)
        name = (sensor.name, f"Gears {first} : {second}")
        row = Weighed(name=name, cost=sensor.cost + cost, half_width=good)
        row.against = against(need, sensor, ratio, backlash=backlash, good=good)
        found.append(row)
    return found


@pytest.mark.parametrize(
    "seed", [*range(20), *(pytest.param(k, marks=pytest.mark.slow) for k in range(20, 200))]
)
def test_the_ranking_is_that_of_a_slow_enumeration(make: Any, seed: int) -> None:
    rng = np.random.default_rng([2026, seed])
    need = random_need(rng)
    sensors = [random_sensor(rng, f"sensor {k}") for k in range(int(rng.integers(1, 16)))]
    drives = random_drives(rng)
    rows = enumerated(need, sensors, drives)
    offers = [make.gears(list(pair), cost=cost, backlash=f"{mm} mm") for pair, (cost, mm) in drives.items()]
    judged = make.judged(make.axis(need.text()), [offered(make, each) for each in sensors], offers)
    order = [
        (judged.sensors[judged.sensor[k]].offer.name, offers[judged.drive[k]].name) for k in kept(judged)
    ]
    fine = [row for row in rows if not row.against]
    fine.sort(key=lambda row: (row.cost, -(need.error / row.half_width - 1.0), row.name))
    assert order == [row.name for row in fine]
    told = [{CHECKS[r] for r in np.flatnonzero(column)} for column in judged.ruled_out.T]
    assert told == [row.against for row in rows]
    inside = [k for k, row in enumerate(rows) if "travel" not in row.against]  # no clipping at a track's end
    widths = np.degrees(judged.half_width)[inside]
    np.testing.assert_allclose(widths, [rows[k].half_width for k in inside], rtol=1e-6)
