"""Analogue wiring behind a sensor that drives its output itself."""

import math

import numpy as np
import pytest

from anglewright.errors import RigError
from anglewright.links.protocol import Port, TrackPort, VoltagePort
from anglewright.links.wiring import WireFault, WiringPart
from anglewright.rigfile.keys import TableReader

OUTPUT = VoltagePort(low=0.1, high=0.9, source_ohm=10.0)


def part(**table):
    reader = TableReader()
    fields = reader.fields({"feed": "5 V", "series": "1 kohm"} | table, WiringPart.KEYS, where="wiring")
    assert reader.problems == []
    return WiringPart(**fields)


def net(upstream=OUTPUT, **table):
    made = part(**table)
    return made.link({number.field: number.variate.nominal for number in made.numbers}, upstream)


def test_the_levels_are_shares_of_the_feed():
    assert net().forward(0.0) == pytest.approx(0.5, rel=1e-15)
    assert net().forward(1.0) == pytest.approx(4.5, rel=1e-15)
    assert net().at_pin(0.3).ohms == 1010.0


def test_a_pull_meets_the_output_behind_its_resistance_and_the_series_resistor():
    # two resistors: 0.5 V over 1010 ohm against 100 kohm to ground
    assert net(pull={"down": "100 kohm"}).forward(0.0) == pytest.approx(0.5 * 100e3 / 101010.0, rel=1e-12)


def test_what_the_sensor_draws_lifts_its_ground_and_lowers_its_feed():
    # 20 mA over 2 ohm and over 1 ohm: ground at 20 mV, feed at 4.96 V
    wiring = net(lead={"feed": "2 ohm", "ground": "1 ohm"}, supply="20 mA")
    assert wiring.forward(0.5) == pytest.approx(0.02 + 0.5 * (4.96 - 0.02), rel=1e-12)
    assert net(lead={"feed": "2 ohm", "ground": "1 ohm"}).forward(0.5) == 2.5


def test_a_ground_offset_lifts_what_lies_below_the_feed():
    assert net(ground_offset="0.1 V ± 1 mV").forward(0.0) == pytest.approx(0.1 + 0.1 * 4.9, rel=1e-12)


@pytest.mark.parametrize("fault", [WireFault.OPEN_FEED, WireFault.OPEN_GROUND, WireFault.OPEN_WIPER])
def test_without_feed_ground_or_signal_the_pulls_alone_hold_the_pin(fault):
    held = net(pull={"down": "100 kohm", "up": "300 kohm"})
    assert held.at_pin(0.4, fault=fault).volts == pytest.approx(1.25, rel=1e-12)  # 5 V over 300 and 100 kohm
    assert math.isnan(net().at_pin(0.4, fault=fault).volts)


def test_a_short_is_that_of_the_wire():
    assert net().at_pin(0.4, fault=WireFault.WIPER_TO_GROUND).volts == 0.0
    assert net().at_pin(0.4, fault=WireFault.WIPER_TO_FEED).volts == 5.0


LADDERS = [
    {},
    {"pull": {"down": "100 kohm"}},
    {"pull": {"up": "47 kohm", "at": "lead"}, "lead": {"wiper": "3 ohm"}},
    {"lead": {"feed": "2 ohm", "ground": "1 ohm"}, "supply": "20 mA"},
    {"divider": {"upper": "10 kohm", "lower": "20 kohm"}, "leakage": "1 uA", "ground_offset": "5 mV"},
]


@pytest.mark.parametrize("table", LADDERS)
def test_the_way_back_and_the_explanation_agree_with_the_way_there(table):
    wiring, shares = net(**table), np.linspace(0.0, 1.0, 11)
    assert np.allclose(wiring.backward(wiring.forward(shares)), shares, atol=1e-12)
    for share in shares:
        steps = wiring.explain(float(share))
        for step in steps:
            worked = eval(step.formula, {"__builtins__": {}}, dict(step.numbers))
            assert worked == pytest.approx(step.result, rel=1e-12)
        reached = [step.result for step in steps if step.unit == "V"]
        assert any(volts == pytest.approx(wiring.forward(float(share)), rel=1e-12) for volts in reached)


def test_a_path_lags_by_the_source_and_the_capacitor():
    wiring = net(capacitor="1 uF")
    tau = 1010.0 * 1e-6
    path, _ = wiring.follow(np.array([0.0, 1.0]), np.array([0.0, tau]), None)
    assert path[1] == pytest.approx(4.5 - 4.0 * math.exp(-1.0), rel=1e-12)  # one time constant of a step


def test_drawn_outputs_make_a_table():
    output = VoltagePort(
        low=np.array([[0.1], [0.2]]), high=np.array([[0.9], [0.8]]), source_ohm=np.array([[1.0], [50.0]])
    )
    wiring, shares = net(output, pull={"down": "10 kohm"}), np.array([0.0, 0.5, 1.0])
    table = wiring.forward(shares)
    for row, low, high, ohms in zip(table, (0.1, 0.2), (0.9, 0.8), (1.0, 50.0), strict=True):
        alone = net(VoltagePort(low=low, high=high, source_ohm=ohms), pull={"down": "10 kohm"})
        assert np.allclose(row, alone.forward(shares), rtol=1e-13)
    assert np.allclose(wiring.backward(table), np.broadcast_to(shares, (2, 3)), atol=1e-12)


def test_a_sensor_without_track_or_voltage_is_refused():
    with pytest.raises(RigError) as refused:
        net(Port())
    assert str(refused.value) == (
        "wiring: analogue wiring must follow a sensor with a track or a voltage. "
        "Change the sensor's or the wiring's kind."
    )


def test_a_track_has_no_current_of_its_own():
    (problem,) = part(supply="20 mA").objections(0.0, 1.0, TrackPort(track_ohm=10e3))
    assert str(problem) == (
        "wiring.supply: a track draws what its own ohms let through. "
        "Leave it out; it belongs to a sensor with electronics."
    )
    assert part(supply="20 mA").objections(0.0, 1.0, OUTPUT) == ()
