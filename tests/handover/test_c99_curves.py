"""The emitted C of a curve, compiled with every warning an error, and run over every code."""

import math
import subprocess
from collections.abc import Callable, Mapping
from dataclasses import replace
from math import isnan
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from anglewright.errors import RangeError
from anglewright.handover.languages import emit
from anglewright.handover.plan import Fault, HandoverPlan, judge
from anglewright.links.code import Corrections
from anglewright.links.protocol import CodeRange

Change = Callable[[HandoverPlan], HandoverPlan]
Rows = list[tuple[int, float, bool, int]]
Run = Callable[[Path, HandoverPlan, list[int]], Rows]
Tested = Callable[[Path, Mapping[str, str]], "subprocess.CompletedProcess[str]"]


def wave(count: int, size: float) -> np.ndarray:
    """Values of a table: an arbitrary uneven curve of that size."""
    places = np.linspace(0.0, 1.0, count)
    return size * (np.sin(5.0 * places) - places**3)


def curved(bits: int, *, nodes: int, size: float) -> Change:
    """A curve over a converter of so many bits, calibrated from 10 to 88 % of its codes."""
    count = 2**bits
    step = 0.78 * count / (nodes - 1)
    table = Corrections(first=0.1 * count, step=step, values=wave(nodes, size))
    return lambda plan: replace(
        plan,
        codes=CodeRange.of_bits(bits),
        slope=170.0 / count,
        low_code=round(0.05 * count),
        high_code=round(0.95 * count),
        corrections=table,
        domain=(0.1 * count, 0.88 * count),
    )


def endless(**changes: Any) -> Change:
    """An endless axis of 4096 codes with a wave once and twice a turn, the turn cut amid the codes."""
    turns = np.arange(64) * 2.0 * np.pi / 64
    table = Corrections(
        first=-130.25, step=64.0, values=2.0 * np.sin(turns) + np.cos(2.0 * turns + 0.3), period=4096.0
    )
    usual: dict[str, Any] = {
        "codes": CodeRange(low=0, high=4095, period=4096, ends_valid=True),
        "slope": 360.0 / 4096.0,
        "offset": 17.0,
        "low_code": 0,
        "high_code": 4095,
        "turn": 360.0,
        "turn_from": -180.0,
        "corrections": table,
    }
    return lambda plan: replace(plan, **(usual | changes))


VARIANTS: dict[str, Change] = {
    "10 bit": curved(10, nodes=9, size=2.0),
    "12 bit": curved(12, nodes=65, size=3.0),
    "14 bit": curved(14, nodes=33, size=0.4),
    "16 bit": curved(16, nodes=2, size=1.0),
    "falling, beyond the points": lambda plan: replace(
        curved(12, nodes=17, size=2.5)(plan), slope=-170.0 / 4096.0, offset=132.5, beyond_points=True
    ),
    "line with points": lambda plan: replace(plan, domain=(420.7, 3675.2)),
    "endless": endless(domain=(-200.0, 4200.0)),
    "endless, calibrated over the wrap": endless(domain=(-200.5, 3600.5)),
    "endless, calibrated in part": endless(domain=(4096.0 + 500.0, 4096.0 + 2600.0)),
    "endless, far zero": endless(offset=1500.0),
    "counter of many turns": lambda plan: replace(
        plan,
        codes=CodeRange(low=-(2**31), high=2**31 - 1, period=2**32, ends_valid=True),
        slope=0.09,
        low_code=-9000,
        high_code=12000,
        corrections=Corrections(
            first=7.5, step=125.125, values=wave(8, 1.5) - wave(8, 1.5)[-1] / 2.0, period=1001.0
        ),
        domain=(-7000.0, 11000.0),
    ),
}


def by_hand(plan: HandoverPlan, raw: int) -> float:
    """Position on the curve, worked out with plain numbers, a node after another."""
    straight = plan.offset + plan.slope * raw
    table = plan.corrections
    if table is None:
        return straight
    values: list[float] = table.values.tolist()
    place = (raw - table.first) / table.step
    if table.period is not None:
        place %= len(values)
        values.append(values[0])
    if place <= 0.0:
        return straight + values[0]
    if place >= len(values) - 1:
        return straight + values[-1]
    left = math.floor(place)
    return straight + values[left] * (left + 1 - place) + values[left + 1] * (place - left)


def calibrated(plan: HandoverPlan, raw: int) -> bool:
    """Whether a code lies in the domain, on an endless axis in any turn."""
    if plan.domain is None or plan.beyond_points:
        return True
    turns = range(-3, 4) if plan.turn else (0,)
    low, high = plan.domain
    return any(low <= raw + 4096 * turn <= high for turn in turns)


@pytest.mark.parametrize("change", VARIANTS.values(), ids=VARIANTS)
def test_every_code_gives_the_position_of_the_curve_and_the_fault_of_the_rule(
    run: Run, tmp_path: Path, shoulder: HandoverPlan, change: Change
) -> None:
    plan = change(shoulder)
    end = 0 if plan.codes.ends_valid else 1
    low, high = max(plan.low_code, plan.codes.low + end), min(plan.high_code, plan.codes.high - end)
    raws = [*range(max(plan.codes.low, -10000), min(plan.codes.high, 70000) + 2), -(2**31), 2**31 - 1]
    rows = run(tmp_path, plan, raws)
    assert [row[0] for row in rows] == raws
    allowed = 1e-5 * abs(by_hand(plan, high) - by_hand(plan, low))
    for raw, place, valid, fault in rows:
        assert fault == judge(raw, plan)
        assert valid == (low <= raw <= high and calibrated(plan, raw))
        assert (fault == Fault.OUTSIDE_POINTS) == (low <= raw <= high and not calibrated(plan, raw))
        if not valid:
            assert isnan(place)
            continue
        curve = by_hand(plan, raw)
        if plan.turn:  # an angle and the same angle a turn on are one place
            assert plan.turn_from - 1e-3 <= place <= plan.turn_from + plan.turn + 1e-3
            curve = place + math.remainder(curve - place, plan.turn)
        assert abs(place - curve) <= allowed


@pytest.mark.parametrize("change", VARIANTS.values(), ids=VARIANTS)
def test_the_self_test_of_a_curve_passes(
    tested: Tested, tmp_path: Path, shoulder: HandoverPlan, change: Change
) -> None:
    assert tested(tmp_path, emit(change(shoulder), language="c")).returncode == 0


WRONG = {
    "12 bit": [
        ("raw < SHOULDER_POINTS_LOW", "raw <= SHOULDER_POINTS_LOW"),
        ("raw > SHOULDER_POINTS_HIGH", "raw >= SHOULDER_POINTS_HIGH"),
        ("reading.position += shoulder_correction(raw);", "reading.position -= shoulder_correction(raw);"),
        ("/ 49.9199982f", "/ 50.9199982f"),
        ("corrections[node + 1]", "corrections[node]"),
    ],
    "endless": [("place += 64.0f;", "")],
    "counter of many turns": [("place = fmodf(place, 8.0f);", "")],
    "endless, calibrated over the wrap": [("&& raw >", "|| raw >")],
}


@pytest.mark.parametrize(
    ("name", "good", "bad"), [(name, *pair) for name, pairs in WRONG.items() for pair in pairs]
)
def test_the_self_test_sees_a_wrong_copy_of_a_curve(
    tested: Tested, tmp_path: Path, shoulder: HandoverPlan, name: str, good: str, bad: str
) -> None:
    files = emit(VARIANTS[name](shoulder), language="c")
    assert good in files["shoulder.c"]
    files["shoulder.c"] = files["shoulder.c"].replace(good, bad)
    assert tested(tmp_path, files).returncode == 1


@pytest.mark.parametrize("nodes", [9, 65])
def test_every_node_is_a_constant_and_nothing_else_grows(shoulder: HandoverPlan, nodes: int) -> None:
    files = emit(curved(12, nodes=nodes, size=1.0)(shoulder), language="c")
    table = files["shoulder.c"].split("= {")[1].split("};")[0]
    assert table.count("f") == nodes
    assert f"static const float shoulder_corrections[{nodes}]" in files["shoulder.c"]
    assert not any(
        word in files["shoulder.c"] for word in ("malloc", "double", "static int", "static float s[")
    )


def test_the_calibrated_codes_do_not_show_where_every_valid_code_is_calibrated(
    shoulder: HandoverPlan,
) -> None:
    plain = emit(shoulder, language="c")
    assert emit(replace(shoulder, domain=(229.0, 3866.0)), language="c") == plain
    assert "POINTS_LOW" not in plain["shoulder.h"]
    assert "correction" not in plain["shoulder.c"]


def test_the_header_says_what_is_added_and_where_it_was_calibrated(shoulder: HandoverPlan) -> None:
    def comment(**changes: Any) -> str:
        plan = replace(curved(12, nodes=9, size=1.0)(shoulder), **changes)
        return " ".join(emit(plan, language="c")["shoulder.h"].split("*/")[0].replace("\n * ", " ").split())

    assert "corrections: 9 are added to the line, straight between their nodes, each at most" in comment()
    assert "calibrated codes: 410 to 3604; outside them a reading is not valid" in comment()
    allowed = comment(beyond_points=True)
    assert (
        "outside them a reading is given all the same, as was asked for, and its interval is wider" in allowed
    )


def test_corrections_too_steep_for_a_float_are_refused(shoulder: HandoverPlan) -> None:
    # One step of 100 deg within a single count, over a band of a million counts.
    plan = replace(
        shoulder,
        codes=CodeRange.of_bits(20),
        slope=1e-6,
        high_code=1_000_000,
        corrections=Corrections(first=5000.0, step=1.0, values=np.array([0.0, 100.0])),
    )
    with pytest.raises(RangeError) as caught:
        emit(plan, language="c")
    assert str(caught.value) == (
        "axis 'shoulder', hand-over in C: corrections as steep as 100 deg a count, a 32-bit float cannot "
        "hold them to 1e-5 of the travel. Calibrate again with fewer points, or with a straight line."
    )
