"""Cable, ground, leakage, divider and the controller's own pull, as keys of a rig file."""

import math
from dataclasses import replace

import numpy as np
import pytest

from anglewright.budget.contributions import ErrorMap, Play, contributions
from anglewright.errors import RigError
from anglewright.findings import Severity
from anglewright.links.wiring import WireFault
from anglewright.review import feed
from anglewright.review import loading as review_loading
from anglewright.review.design import design_of
from anglewright.review.levels import fault_codes, findings
from anglewright.rig import at_nominal, datasheet_line, realise
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

FRAME = """
[axis.pan]
motion = {{ from = "0 deg", to = "270 deg" }}
need = {{ error = "1 deg" }}
when_unpowered = "holds"
drive = {{ kind = "direct" }}
coupling = {{ kind = "rigid" }}
mount = {{ within = "0 deg" }}
sensor = {{ track = "10 kohm", electrical_travel = "300 deg" }}
wiring = {{ feed = "3.3 V", series = "0 ohm", {wiring} }}
converter = {{ reference = "{reference}" }}
"""
BARE = 'capacitor = "100 nF"'


def pan(wiring, reference="feed"):
    document = parse_document(FRAME.format(wiring=wiring, reference=reference), source="pan.toml")
    return build_rig(document, source="pan.toml").axis("pan")


def net(axis):
    return realise(axis, at_nominal).links[5]


def row(axis, quantity):
    errors = ErrorMap(axis=axis, line=datasheet_line(axis), positions=axis.positions(7))
    return next(each for each in contributions(errors, Play.TWO_SIDED) if each.quantity == quantity)


def test_what_is_not_given_is_not_there():
    axis = pan(BARE)
    assert not net(axis).furnished
    assert [each.key for each in axis.assumptions if each.key.startswith("wiring")] == []
    assert {number.key for number in axis.part("wiring").numbers} == {
        "wiring.feed",
        "wiring.series",
        "wiring.capacitor",
    }


@pytest.mark.parametrize(("own", "percent"), [("20 kohm", 6.67256), ("50 kohm", 2.83732)])
def test_the_own_pull_left_on_costs_three_to_seven_per_cent(own, percent):
    # the table of the loaded potentiometer, k = 0.5 and 0.2: 20 to 50 kohm on a track of 10 kohm
    wiring = net(pan(f'pull = {{ own = "{own}" }}'))
    x = np.linspace(0.0, 1.0, 2001)
    assert np.max(100.0 * (wiring.forward(x) / 3.3 - x)) == pytest.approx(percent, abs=1e-4)


def test_the_own_pull_goes_where_it_is_said_to_go():
    assert net(pan('pull = { own = "40 kohm" }')).forward(0.0) == pytest.approx(0.0, abs=1e-12)
    # 2.5 kohm at mid travel against 40 kohm: the mean of 1.65 V and 5 V, weighted by conductance
    up = net(pan('pull = { own = "40 kohm", own_to = "5 V" }')).forward(0.5)
    assert up == pytest.approx((1.65 / 2.5 + 5.0 / 40.0) / (1.0 / 2.5 + 1.0 / 40.0), rel=1e-12)
    down = net(pan('pull = { own = "40 kohm", own_to = "0 V" }')).forward(0.5)
    assert down == pytest.approx(1.65 * 40.0 / 42.5, rel=1e-12)


def test_a_long_thin_cable_lifts_the_low_end_and_lowers_the_high_end():
    # 10 m of gauge 24 has 0.8422 ohm: of 10 kohm + 2 wires, that share of the feed at each end
    wiring = net(pan('lead = { length = "10 m", gauge = 24 }'))
    ohms = 0.08422 * 10.0
    assert wiring.forward(0.0) == pytest.approx(3.3 * ohms / (10e3 + 2.0 * ohms), rel=2e-3)
    assert 3.3 - wiring.forward(1.0) == pytest.approx(3.3 * ohms / (10e3 + 2.0 * ohms), rel=2e-3)
    assert wiring.lead_wiper_ohm == pytest.approx(ohms, rel=2e-3)


def test_a_wire_given_in_ohms_has_those():
    wiring = net(pan('lead = { length = "10 m", ground = "5 ohm" }'))
    assert wiring.lead_ground_ohm == 5.0
    assert wiring.lead_feed_ohm == wiring.lead_wiper_ohm == pytest.approx(0.842, abs=0.001)


def test_a_cable_of_known_length_has_its_gauge_assumed():
    given = {each.key: each.value for each in pan('lead = { length = "2 m" }').assumptions}
    assert given["wiring.lead.gauge"] == "24"
    assert "wiring.lead.gauge" not in {each.key for each in pan(BARE).assumptions}


def test_a_ground_offset_shifts_the_low_end_and_not_the_high_end():
    axis = pan('ground_offset = "33 mV"')
    offset = row(axis, "ground_offset")
    assert (offset.persistence.value, offset.meaning) == ("condition", "ground offset")
    assert offset.cured_by == "a ground wire of its own"
    # 33 mV of 3.3 V is 1 % of 300 deg where x is 0, and nothing where it is 1
    x = np.asarray(realise(axis, at_nominal).trace(axis.positions(7))[4])
    assert np.degrees(offset.standard_uncertainty) == pytest.approx(
        3.0 / math.sqrt(3.0) * (1.0 - x), rel=1e-6
    )


def test_a_leakage_is_an_offset_that_moves_with_the_wiper():
    axis = pan('leakage = "10 uA"')
    leak = row(axis, "leakage")
    assert (leak.persistence.value, leak.meaning) == ("condition", "leakage of the pin")
    x = np.asarray(realise(axis, at_nominal).trace(axis.positions(7))[4])
    # current times R x (1 - x), as a share of 3.3 V and of 300 deg
    expected = 10e-6 * 10e3 * x * (1.0 - x) / 3.3 * 300.0 / math.sqrt(3.0)
    assert np.degrees(leak.standard_uncertainty) == pytest.approx(expected, rel=1e-6)


def test_a_divider_brings_five_volts_below_the_reference():
    # 10 over 20 kohm of the E24 series (IEC 60063) behind a track end without resistance: two thirds
    wiring = net(pan('divider = { upper = "10 kohm", lower = "20 kohm" }', reference="3.3 V"))
    assert wiring.forward(1.0) == pytest.approx(3.3 * 2.0 / 3.0, rel=1e-12)
    # at mid travel 2.5 kohm come on top: 1.65 V over 32.5 kohm
    assert wiring.forward(0.5) == pytest.approx(1.65 * 20.0 / 32.5, rel=1e-12)


EVERYTHING = (
    'pull = { down = "100 kohm", up = "220 kohm", own = "40 kohm", at = "AT" }, leakage = "1 uA", '
    'lead = { wiper = "3 ohm", feed = "2 ohm", ground = "1 ohm" }, ground_offset = "5 mV", '
    'divider = { upper = "10 kohm", lower = "20 kohm" }'
)


@pytest.mark.parametrize("at", ["pin", "lead"])
def test_the_explanation_of_the_whole_ladder_ends_at_the_pin(at):
    wiring = replace(net(pan(EVERYTHING.replace("AT", at))), leakage_a=1e-6, ground_offset_v=5e-3)
    steps = wiring.explain(0.3)
    assert [step.symbol for step in steps] == (
        ["V_tap", "R_s", "V", "V_pin"] if at == "pin" else ["V_tap", "R_s", "V_lead", "V", "V_pin"]
    )
    assert steps[-1].result == pytest.approx(wiring.forward(0.3), rel=1e-12)
    for step in steps:
        worked = eval(step.formula, {"__builtins__": {}}, dict(step.numbers))
        assert worked == pytest.approx(step.result, rel=1e-12)


def test_a_path_through_the_whole_ladder_ends_where_it_rests():
    wiring = net(pan(EVERYTHING.replace("AT", "pin")))
    path, _ = wiring.follow(np.full(50, 0.7), np.arange(50) * 0.01, None)
    assert path[-1] == pytest.approx(wiring.forward(0.7), rel=1e-12)
    assert wiring.backward(wiring.forward(0.7)) == pytest.approx(0.7, abs=1e-12)


FAULTY = [
    'divider = { upper = "10 kohm", lower = "20 kohm" }',
    'pull = { own = "40 kohm", own_to = "5 V" }',
    'lead = { wiper = "3 ohm", feed = "2 ohm", ground = "1 ohm" }',
    'pull = { down = "100 kohm", at = "lead" }, lead = { wiper = "30 ohm" }',
    EVERYTHING.replace("AT", "pin"),
    EVERYTHING.replace("AT", "lead"),
]


@pytest.mark.parametrize("fault", list(WireFault))
@pytest.mark.parametrize("wiring", FAULTY)
def test_the_arithmetic_of_a_broken_wire_ends_at_the_level_of_the_pin(wiring, fault):
    link, share = net(pan(wiring)), 0.3
    steps, volts = link.node_steps(share, fault=fault), float(link.at_pin(share, fault=fault).volts)
    assert bool(steps) != math.isnan(volts)
    if steps:
        assert steps[-1].result == pytest.approx(volts, rel=1e-12, abs=1e-15)


@pytest.mark.parametrize("wiring", FAULTY)
def test_the_findings_tell_the_codes_of_the_whole_ladder(wiring):
    axis = pan(wiring)
    circuit = design_of(axis)
    for finding, fault in zip(findings(circuit), WireFault, strict=False):
        codes = [step.result for step in finding.steps if step.symbol == "n"]
        ends = fault_codes(circuit, fault)[0, [0, -1]]
        assert codes == [] if np.isnan(ends).any() else codes == list(ends)


def loading_of(wiring):
    return next(each for each in review_loading.findings(design_of(pan(wiring))) if each.key == "loading")


def test_an_own_pull_left_on_is_told_at_the_axis():
    # k = 0.5 of the table of the loaded potentiometer: 6.673 % of 300 deg, at x = 1 - 0.67836
    finding = loading_of('pull = { own = "20 kohm" }')
    assert finding.severity is Severity.CAUTION
    assert finding.measured == pytest.approx(0.0667256 * 300.0, rel=1e-4)
    assert finding.steps[0].numbers["x"] == pytest.approx(1.0 - 0.67836, abs=1e-3)
    assert finding.text.startswith("All that hangs at the wiper bends the reading by up to 20.02 deg at ")


def feed_findings(wiring):
    found = feed.findings(design_of(pan(wiring, reference="2.5 V")))
    return [each.key for each in found if each.key.startswith("feed-above")]


def test_a_feed_above_the_reference_is_cured_by_a_divider_that_reaches_below_it():
    assert feed_findings(BARE) == ["feed-above-reference"]
    assert feed_findings('divider = { upper = "10 kohm", lower = "20 kohm" }') == []  # two thirds: 2.2 V
    assert feed_findings('divider = { upper = "5 kohm", lower = "20 kohm" }') == ["feed-above-reference"]


REFUSED = [
    (
        'divider = { upper = "10 kohm" }',
        "wiring.divider: only its upper resistor is given. "
        "Give the lower one too; a resistor alone is 'series' or a pull.",
    ),
    (
        'divider = { lower = "10 kohm" }',
        "wiring.divider: only its lower resistor is given. "
        "Give the upper one too; a resistor alone is 'series' or a pull.",
    ),
    (
        'ground_offset = "4 V"',
        "wiring.ground_offset: the ground can lie 4 V up, the feed is 3.3 V. Mend the value.",
    ),
    (
        'leakage = "1 mA"',
        "wiring.leakage: a leakage of 1 mA, the track itself carries 0.33 mA. Mend the value, or the pin.",
    ),
    (
        "lead = { gauge = 24 }",
        "wiring.lead.gauge: it plays no part without 'length'. Give 'length' too, or leave it out.",
    ),
    (
        'lead = { length = "2 m", gauge = 40 }',
        "wiring.lead.gauge: it is '40', a whole number from 10 to 36 belongs here. "
        "Give the American wire gauge of the cable's copper.",
    ),
    (
        'pull = { own = "0 ohm" }',
        "wiring.pull.own: '0 ohm' is not above zero. Mend the value or its spread.",
    ),
    (
        'pull = { own_to = "5 V" }',
        "wiring.pull.own_to: it plays no part without 'own'. Give 'own' too, or leave it out.",
    ),
]


@pytest.mark.parametrize(("wiring", "sentence"), REFUSED)
def test_a_wiring_that_cannot_be_is_refused_with_a_sentence(wiring, sentence):
    with pytest.raises(RigError) as refused:
        pan(wiring)
    assert [str(each) for each in refused.value.problems] == [f"pan.toml, axis 'pan', {sentence}"]
