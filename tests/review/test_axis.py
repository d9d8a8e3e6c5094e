"""The review of a whole axis: order, keys, sources, and arithmetic that can be worked out again."""

import random
from collections.abc import Callable

import pytest

from anglewright.findings import Finding, Severity
from anglewright.review import (
    control,
    counting,
    electrical,
    feed,
    filtering,
    levels,
    loading,
    mounting,
    planning,
    plausible,
    play,
    resolution,
    safety,
    sending,
    speed,
    strays,
    timing,
    travel,
    wear,
    wraps,
)
from anglewright.review.axis import KEYS, review_axis
from anglewright.rig import Axis
from anglewright.sources import SOURCES

FaultsOfSteps = Callable[[tuple[Finding, ...]], list[str]]
NO_PULL = "wiring.pull={}"
AT_LEAD = 'wiring.pull={down="100 kohm", at="lead"}'
BOTH = 'wiring.pull={down="220 kohm", up="100 kohm", at="pin"}'
UP = 'wiring.pull={up="30 kohm", at="pin"}'
COUNTED = (
    "sensor={kind='incremental', lines=500}",
    "mount={clamped_at='pin'}",
    "wiring={}",
    "converter={}",
)
ONE_TURN = ("sensor={kind='serial'}", "wiring={}", "converter={}")
PULSES = ("sensor={kind='pulse-width', top_speed='10 rpm'}", "wiring={feed='5 V'}", "converter={}")
PAIR = (
    "sensor={kind='gear-pair', driving_teeth=16, first_teeth=16, second_teeth=17, play='0.1 deg'}",
    "wiring={}",
    "converter={}",
)
DRIVEN = ("sensor={kind='magnetic'}",)
ENDLESS = "motion={from='-180 deg', to='180 deg', speed='90 deg/s', endless=true}"
DIVIDED = "wiring.divider={upper='20 kohm', lower='33 kohm'}"
LOOP = "loop={crossover='2 Hz', sample='50 Hz'}"
LEADS = "wiring.lead={length='3 m', gauge=26}"
ENDS = "sensor.end_resistance=100 ohm"
HELD = ("mount.body=fixed", "mount.shaft=6 mm", "mount.bore=6.35 mm", "coupling={kind='rigid'}")
DUTY = ("need.strokes=200000", "need.hunting=3000000", "need.hunting_size=0.5 deg")
VARIANTS: tuple[tuple[str, ...], ...] = (
    (),
    (NO_PULL,),
    (AT_LEAD,),
    (BOTH,),
    (UP, "wiring.series=0 ohm"),
    ("wiring.feed=5 V", "converter.reference=3.3 V"),
    ("wiring.feed=3.3 V", "converter.reference=5 V", "converter.bits=10"),
    ("wiring.feed=5 V ± 2 %", "converter.reference=5 V ± 1 %"),
    ("wiring.capacitor=0 F",),
    ("plan.model=harmonics",),
    ("sensor.mechanical_travel=345 deg",),
    ("coupling={kind='rigid'}", "drive.backlash=0 mm"),
    ("mount.output=falls", "converter.offset=3 LSB"),
    ("converter.reference=3.3 V ± 2 %", "converter.feed_channel={ratio='50 % ± 0.2 %'}"),
    ("converter.sampling_time=0.54 us", "wiring.capacitor=1 nF"),
    ("converter.sampling_time=0.54 us", "wiring.capacitor=0 F"),
    ("converter.reference=3.3 V", "converter.table=[['0 V', 20], ['1.65 V', 2000], ['3.3 V', 4095]]"),
    COUNTED,
    ONE_TURN,
    (*ONE_TURN, LOOP),
    (*PULSES, LOOP),
    (*PAIR, LOOP, "motion.speed=9000 deg/s"),
    (LOOP, *DUTY),
    (LOOP, "wiring.capacitor=10 uF", "wiring.series=0 ohm"),
    (ENDS, "wiring.feed=5 V", "converter.reference=3.3 V"),
    (ENDS, NO_PULL, "mount.reading=40 %", "sensor.mechanical_travel=310 deg", "motion.strength=12 N m"),
    (*DRIVEN, LOOP),
    (*DRIVEN, AT_LEAD, LEADS),
    (*DRIVEN, NO_PULL, "wiring.feed=5 V ± 2 %", "converter.reference=3.3 V ± 1 %"),
    (*DRIVEN, "wiring.capacitor=0 F", "wiring.pull={own='40 kohm'}"),
    (DIVIDED, "wiring.feed=5 V", "converter.reference=3.3 V", LEADS, "wiring.leakage=1 uA"),
    (DIVIDED, AT_LEAD, "wiring.feed=5 V", "converter.reference=3.3 V"),
    ("wiring.pull={own='40 kohm', down='100 kohm'}", "sensor.wiper_resistance=100 ohm"),
    ("sensor.windings=1500", "sensor.life={turns=300000}", *DUTY),
    ("sensor.derating={full_to='70 degC', none_at='125 degC', hottest='100 degC'}", *HELD),
    (*DRIVEN, ENDLESS, "drive={kind='direct'}", "stops={}"),
    ("motion={from='-20 deg', to='115 deg'}",),
)


@pytest.mark.parametrize("changes", VARIANTS, ids=" ".join)
def test_every_formula_evaluated_again_gives_its_result(
    shoulder: Callable[..., Axis], faults_of_steps: FaultsOfSteps, changes: tuple[str, ...]
) -> None:
    assert faults_of_steps(review_axis(shoulder(*changes))) == []


def drawn_changes(seed: int) -> list[str]:
    """A shoulder drawn at random: track, pull, series resistor, capacitor, feed, bits."""
    rng = random.Random(seed)
    pull = rng.choice(["down", "up"])
    return [
        f"sensor.track={rng.uniform(1, 20):.4g} kohm ± {rng.choice([0, 5, 20])} %",
        f'wiring.pull={{{pull}="{rng.uniform(20, 500):.4g} kohm", at="{rng.choice(["pin", "lead"])}"}}',
        f"wiring.series={rng.uniform(0, 3):.4g} kohm",
        f"wiring.capacitor={rng.uniform(0, 300):.4g} nF",
        f"wiring.feed={rng.choice([3.3, 5])} V",
        f"converter.bits={rng.choice([10, 12, 16])}",
    ]


@pytest.mark.parametrize("seed", range(20))
def test_the_same_holds_for_rigs_drawn_at_random(
    shoulder: Callable[..., Axis], faults_of_steps: FaultsOfSteps, seed: int
) -> None:
    assert faults_of_steps(review_axis(shoulder(*drawn_changes(seed)))) == []


def test_stops_come_first_then_cautions_then_notes_and_twice_the_same(shoulder: Callable[..., Axis]) -> None:
    axis = shoulder("wiring.feed=5 V", "converter.reference=3.3 V")
    findings = review_axis(axis)
    order = [list(Severity).index(each.severity) for each in findings]
    assert order == sorted(order)
    assert {Severity.STOP, Severity.CAUTION, Severity.NOTE} == {each.severity for each in findings}
    assert findings == review_axis(axis)


def test_every_key_is_registered_once_with_one_line_and_every_registered_key_occurs(
    shoulder: Callable[..., Axis],
) -> None:
    analogue = (electrical, feed, filtering, levels, loading, strays, timing, travel)
    any_axis = (control, counting, mounting, planning, plausible, play, resolution, safety, sending)
    any_axis = (*any_axis, speed, wear, wraps)
    assert sum(len(theme.KEYS) for theme in (*analogue, *any_axis)) == len(KEYS)
    assert all(meaning and "\n" not in meaning for meaning in KEYS.values())
    occurring = {finding.key for changes in VARIANTS for finding in review_axis(shoulder(*changes))}
    assert occurring == set(KEYS)


@pytest.mark.parametrize("changes", VARIANTS, ids=" ".join)
def test_every_finding_names_a_part_a_source_and_speaks_in_sentences(
    shoulder: Callable[..., Axis], changes: tuple[str, ...]
) -> None:
    axis = shoulder(*changes)
    rooms = {part.room for part in axis.chain_parts}
    for finding in review_axis(axis):
        assert finding.axis == "shoulder"
        assert finding.link in rooms
        assert finding.source in SOURCES
        assert finding.text.endswith(".")
        assert finding.severity is Severity.NOTE or finding.remedy or finding.key in safety.KEYS


def test_the_rover_as_it_stands_is_not_stopped(shoulder: Callable[..., Axis]) -> None:
    assert all(finding.severity is not Severity.STOP for finding in review_axis(shoulder()))
