"""Converters that are not straight, that measure the feed, and that remember the channel before."""

import math

import numpy as np
import pytest

from anglewright.budget.contributions import ErrorMap, Play, contributions
from anglewright.budget.states import State, state_errors
from anglewright.errors import RigError
from anglewright.findings import Severity
from anglewright.links.wiring import WireFault
from anglewright.review import feed, timing
from anglewright.review.design import design_of
from anglewright.review.levels import fault_codes, findings
from anglewright.rig import at_mean, at_nominal, datasheet_line, drawn, realise
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
sensor = {{ track = "10 kohm", electrical_travel = "300 deg", linearity = "0 %" }}
wiring = {{ {wiring} }}
converter = {{ {converter} bits = {bits}, offset = "0 LSB" }}
"""
WIRING = 'feed = "3.3 V ± 5 %", series = "1 kohm", capacitor = "100 nF"'
# a divider of four resistors of 4.7 kohm on a common 12-bit part, published readings: volts, codes
TABLE = 'table = [["0.819 V", 823], ["1.641 V", 1814], ["2.462 V", 2811], ["3.286 V", 4095]]'
FIXED = 'reference = "3.3 V ± 2 %"'


def pan(converter, wiring=WIRING, *, bits=12):
    given = f"{converter}," if converter else ""
    document = parse_document(FRAME.format(converter=given, wiring=wiring, bits=bits), source="pan.toml")
    return build_rig(document, source="pan.toml").axis("pan")


def converter_of(axis, pick=at_nominal):
    return realise(axis, pick).unrounded().links[-1]


def rows(axis):
    errors = ErrorMap(axis=axis, line=datasheet_line(axis), positions=axis.positions(7))
    return {each.quantity: each for each in contributions(errors, Play.TWO_SIDED)}


def counts(axis, quantity):
    """Standard uncertainty of a contribution in counts, at seven positions."""
    return rows(axis)[quantity].standard_uncertainty / abs(datasheet_line(axis).slope)


# --- a table -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("volts", "code"), [(0.819, 823), (1.641, 1814), (2.462, 2811), (3.286, 4095)])
def test_a_table_gives_its_own_points_and_back(volts, code):
    link = realise(pan(f'{TABLE}, reference = "3.3 V"'), at_nominal).links[-1]
    assert link.forward(volts) == code
    assert link.backward(float(code)) == pytest.approx(volts, rel=1e-12)


def test_a_table_runs_straight_between_its_points_and_on_beyond_them():
    link = converter_of(pan(f'{TABLE}, reference = "3.3 V"'))
    assert link.forward(1.23) == pytest.approx((823 + 1814) / 2, rel=1e-12)  # half way from 0.819 to 1.641 V
    # 991 codes on 0.822 V: the code is 0 at 0.819 V - 823 / 991 * 0.822 V, the dead zone of that part
    assert link.backward(0.0) == pytest.approx(0.819 - 823 / 991 * 0.822, rel=1e-12)
    assert link.forward(0.1) == 0.0


def test_the_three_lower_points_of_that_part_are_a_line_and_the_top_one_is_not():
    # published: 1210.0 counts/V through the three lower points, zero at 0.140 V, 3807 where it reads 4095
    axis = pan(f'{TABLE}, reference = "3.3 V"')
    link = converter_of(axis)
    volts = np.array([0.819, 1.641, 2.462])
    slope, zero = np.polyfit(volts, link.forward(volts), 1)
    assert slope == pytest.approx(1210.0, abs=0.05)
    assert -zero / slope == pytest.approx(0.140, abs=0.001)
    assert zero + slope * 3.286 == pytest.approx(3807, abs=0.5)
    assert link.forward(3.286) == pytest.approx(4095.0, abs=1e-9)


def test_a_table_follows_a_reference_that_is_not_what_was_stated():
    # everything scales with the full scale: 1 % more reference, and the same code stands for 1 % more volts
    axis = pan(f'{TABLE}, reference = "3.3 V ± 1 %"')
    high = converter_of(axis, lambda n: 3.3 * 1.01 if n.field == "reference_v" else n.variate.nominal)
    assert high.forward(1.641 * 1.01) == pytest.approx(1814.0, rel=1e-12)


def test_a_bent_converter_is_a_bias_that_no_line_takes_out():
    # the top piece is steeper than the others by 1558 to 1214 codes a volt: F07 of the field notes
    axis = pan(f'{TABLE}, reference = "3.3 V"', 'feed = "3.3 V", series = "0 ohm", capacitor = "0 nF"')
    states = {each.state: each for each in state_errors(axis, axis.positions(25))}
    straight = {each.state: each for each in state_errors(pan('reference = "3.3 V"'), axis.positions(25))}
    assert np.degrees(np.abs(states[State.CALIBRATED].bias).max()) > 4.0
    assert np.degrees(np.abs(straight[State.CALIBRATED].bias).max()) < 0.2


# --- integral non-linearity ----------------------------------------------------------------------------


def test_an_inl_is_a_limit_in_codes_whose_shape_is_unknown():
    axis = pan('inl = "4 LSB"')
    row = rows(axis)["inl"]
    slope = abs(datasheet_line(axis).slope)
    assert row.free_shape
    assert (row.persistence.value, row.cured_by) == ("build", "a longer table")
    assert row.meaning == "integral non-linearity of the converter"
    assert row.worst / slope == pytest.approx(4.0, rel=1e-6)
    # a size even in 0..4 has a root mean square of 4 / sqrt 3; a wave of that height less, a bow more at ends
    assert np.all((row.standard_uncertainty / slope > 1.0) & (row.standard_uncertainty / slope < 2.5))


def test_drawn_converters_depart_from_the_straight_line_within_their_limit():
    axis = pan('inl = "4 LSB", noise = "0 LSB"')
    builds = converter_of(axis, drawn(np.random.default_rng(5), builds=400))
    share = np.linspace(0.01, 0.99, 60)
    volts = share * np.asarray(builds.reference_v)
    off = np.asarray(builds.forward(volts)) - (4096.0 * share - 0.5)
    assert 3.0 < np.abs(off).max() < 4.0 * (1.0 + 1e-9)
    assert np.allclose(builds.backward(builds.forward(volts)), volts, rtol=0, atol=1e-9)


def test_a_longer_table_of_calibration_is_what_cures_an_inl():
    errors = {each.state: each for each in state_errors(pan('inl = "4 LSB"'), np.linspace(0.0, 4.7, 25))}
    left = next(part for part in errors[State.CALIBRATED].parts if part.quantity == "inl")
    first = next(part for part in errors[State.DATASHEET].parts if part.quantity == "inl")
    kept = left.standard_uncertainty.max() / first.standard_uncertainty.max()
    assert 0.5 < kept < 1.2  # waves: a straight line takes out little of them


# --- the feed, measured on a channel of its own --------------------------------------------------------

MEASURED = f'{FIXED}, feed_channel = {{ ratio = "50 % ± 0.2 %", noise = "2 LSB rms" }}'


def test_a_feed_that_is_measured_cancels_as_does_the_reference():
    fixed, measured = pan(FIXED), pan(MEASURED)
    link = converter_of(measured)
    for quantity in ("feed", "reference"):
        before = rows(fixed)["feed" if quantity == "feed" else "reference"].standard_uncertainty
        assert before[-1] > 0.01
        assert np.abs(rows(measured)[quantity].worst).max() < 1e-3 * before[-1]
    assert link.forward(1.65) == pytest.approx(4096 / 2 - 0.5, abs=1e-9)


def test_what_the_channel_of_the_feed_brings_in_is_in_the_budget():
    axis = pan(MEASURED)
    code = np.asarray(realise(axis, at_mean).unrounded().forward(axis.positions(7))) + 0.5
    # 0.2 of 50 % is 0.4 % of the code; noise of 2 codes on 2048 of them is a share of 2 / 2048
    assert counts(axis, "feed_channel.ratio") == pytest.approx(0.004 / math.sqrt(3.0) * code, rel=1e-3)
    assert counts(axis, "feed_channel.noise") == pytest.approx(2.0 / 2048.0 * code, rel=1e-3)
    found = rows(axis)
    assert found["feed_channel.ratio"].persistence.value == "build"
    assert (found["feed_channel.noise"].persistence.value, found["feed_channel.noise"].cured_by) == (
        "reading",
        "averaging the feed",
    )


def test_a_gain_error_cancels_and_an_offset_does_so_in_part():
    # the same converter reads both; an offset o on codes n and F: n (o / n - o / F)
    axis = pan(MEASURED.replace("reference", 'gain = "0.3 %", reference') + ', noise = "0 LSB"')
    assert np.abs(rows(axis)["gain"].worst).max() < 1e-9
    link = converter_of(axis, lambda n: 4.0 if n.field == "offset_counts" else n.variate.nominal)
    assert link.forward(0.825) + 0.5 == pytest.approx((1024 + 4) * 2048 / (2048 + 4), rel=1e-12)


def test_real_readings_divided_in_code_are_those_of_the_model():
    # independent: the controller's own arithmetic, reading by reading, with whole codes and no model of ours
    rng = np.random.default_rng(3)
    axis = pan(MEASURED.replace("2 LSB", "0.5 LSB") + ', noise = "0.5 LSB rms"')
    feed, reference, ratio, volts = 3.2, 3.35, 0.501, 1.1

    def pick(number):
        given = {"feed_v": feed, "reference_v": reference, "feed_ratio": ratio}
        fresh = number.field in ("noise_counts", "feed_noise_counts")
        return (
            number.variate.draw(rng, (20_000,)) if fresh else given.get(number.field, number.variate.nominal)
        )

    ours = np.asarray(realise(axis, pick).links[-1].forward(np.full(20_000, volts)))
    codes = np.floor(4096 * volts / reference + rng.normal(0.0, 0.5, 20_000))
    fed = np.floor(4096 * feed * ratio / reference + rng.normal(0.0, 0.5, 20_000))
    theirs = (codes + 0.5) * (4096 * 3.3 * 0.5 / 3.3) / (fed + 0.5)
    assert ours.mean() + 0.5 == pytest.approx(theirs.mean(), abs=0.05)
    assert ours.std() == pytest.approx(theirs.std(), rel=0.15)


def test_a_measured_feed_is_told_and_explained():
    axis = pan(MEASURED)
    assert axis.part("converter").describe() == "12 bit, 3.3 V reference, feed measured"
    link = converter_of(axis, lambda n: 3.5 if n.field == "feed_v" else n.variate.nominal)
    code, fed = link.explain(1.75)
    assert (code.formula, fed.formula) == ("floor(2 ** N * V / V_ref)", "floor((n + 0.5) * F_0 / F)")
    assert fed.numbers["F"] == pytest.approx(2048 * 3.5 / 3.3, rel=1e-12)
    assert fed.result == 2048.0  # half of the feed, whatever the feed


# --- sampling ------------------------------------------------------------------------------------------

BARE = 'feed = "3.3 V", series = "1 kohm", capacitor = "0 nF"'
SAMPLED = 'sampling_time = "0.54 us", sampling_capacitor = "8 pF", sampling_resistance = "1 kohm"'


def test_a_short_sample_keeps_some_of_the_channel_before():
    # at mid travel 2.5 + 1 kohm, and 1 kohm of the switch, charge 8 pF: exp(-0.54 us / 36 ns)
    left = math.exp(-0.54e-6 / (4.5e3 * 8e-12))
    link = converter_of(pan(f'{SAMPLED}, neighbour = "100 %"', BARE))
    assert link.forward(1.65) + 0.5 == pytest.approx(2048 + 2048 * left, rel=1e-12)
    assert link.backward(link.forward(1.65)) == pytest.approx(1.65, rel=1e-12)


def test_an_unknown_neighbour_is_a_contribution_that_no_calibration_takes_out():
    slow = SAMPLED.replace("8 pF", "30 pF")
    axis = pan(slow, BARE)
    row, line = rows(axis)["neighbour"], abs(datasheet_line(axis).slope)
    assert (row.persistence.value, row.dof) == ("reading", math.inf)
    # rectangular over the whole scale: 4096 / sqrt 12 codes, of which the sample leaves its share
    x = np.asarray(realise(axis, at_nominal).trace(axis.positions(7))[4])
    left = np.exp(-0.54e-6 / ((10e3 * x * (1 - x) + 2e3) * 30e-12))
    assert row.standard_uncertainty / line == pytest.approx(4096 / math.sqrt(12.0) * left, rel=1e-6)
    calibrated = {each.state: each for each in state_errors(axis, axis.positions(7))}[State.CALIBRATED]
    kept = next(part for part in calibrated.parts if part.quantity == "neighbour")
    assert kept.standard_uncertainty == pytest.approx(row.standard_uncertainty, rel=0.02)


def test_a_reservoir_at_the_pin_leaves_the_dip_of_the_shared_charge():
    # 100 nF and 8 pF: 80 millionths of the swing, which 3.5 kohm hardly refill while the sample lasts
    link = converter_of(pan(f'{SAMPLED}, neighbour = "0 %"', BARE.replace("0 nF", "100 nF")))
    assert link.forward(1.65) + 0.5 == pytest.approx(2048.0 * (1.0 - 8e-12 / 100.008e-9), rel=1e-6)


def test_the_line_of_the_data_sheet_knows_nothing_of_sampling():
    long, short = (datasheet_line(pan(each, BARE)) for each in ("", SAMPLED.replace("8 pF", "60 pF")))
    assert (long.slope, long.offset) == pytest.approx((short.slope, short.offset), rel=1e-12)


@pytest.mark.parametrize("capacitor", ["0 nF", "1 nF"])
def test_the_arithmetic_of_a_sample_is_shown(capacitor):
    link = converter_of(pan(SAMPLED, BARE.replace("0 nF", capacitor)))
    rest, held, code = link.explain(1.1)
    share = eval(rest.formula, {"exp": math.exp, "__builtins__": {}}, dict(rest.numbers))
    assert share == pytest.approx(rest.result, rel=1e-12)
    assert held.result == pytest.approx(link.sampler.held(1.1), rel=1e-12)
    assert code.result == math.floor(4096 * held.result / 3.3)
    assert rest.source == ("slyw038" if capacitor == "0 nF" else "derived")


def test_what_is_not_given_is_not_there_and_nothing_is_assumed():
    axis = pan("")
    link = converter_of(axis)
    assert not link.furnished
    assert (link.inl, link.bend, link.feed, link.sampler) == (None, None, None, None)
    assert {each.key for each in axis.assumptions if each.key.startswith("converter")} == {
        "converter.reference",
        "converter.noise",
    }


def test_a_time_to_sample_brings_its_usual_capacitor_and_switch():
    given = {each.key: each.value for each in pan('sampling_time = "1 us"').assumptions}
    assert given["converter.sampling_capacitor"] == "14 pF"
    assert given["converter.sampling_resistance"] == "1 kohm"
    assert given["converter.neighbour"] == "50 % ± 50 %"


@pytest.mark.parametrize("converter", ['inl = "9 LSB"', MEASURED, SAMPLED.replace("8 pF", "25 pF")])
def test_drawn_machines_scatter_as_the_contributions_say(converter):
    # two routes: every number drawn at once, and each nudged alone; 4000 builds know their scatter to 1.1 %
    axis, rng = pan(converter, BARE.replace("3.3 V", "3.3 V ± 5 %")), np.random.default_rng(12)
    chain, positions = realise(axis, drawn(rng, builds=4000)), axis.positions(7)
    computed = np.asarray(datasheet_line(axis).forward(chain.unrounded().forward(positions)))
    found = [row for name, row in rows(axis).items() if name != "quantisation"]
    expected = np.sqrt(sum(row.standard_uncertainty**2 for row in found))
    assert np.std(computed, axis=0)[1:-1] == pytest.approx(expected[1:-1], rel=0.05)


def finding_of(theme, axis, key):
    return next(each for each in theme.findings(design_of(axis)) if each.key == key)


@pytest.mark.parametrize(("time", "severity"), [("0.54 us", Severity.NOTE), ("0.2 us", Severity.CAUTION)])
def test_the_review_holds_a_sample_against_the_time_that_it_needs(time, severity):
    finding = finding_of(timing, pan(SAMPLED.replace("0.54 us", time), BARE), "settling")
    # 13 ln 2 time constants for half a code of 12 bits: 2.5 kohm of track, 1 kohm in series, 1 kohm inside
    assert finding.measured == pytest.approx(1e6 * 13 * math.log(2.0) * 4.5e3 * 8e-12, rel=1e-9)
    assert (finding.severity, finding.limit) == (severity, pytest.approx(float(time.split()[0])))
    assert finding.text.endswith(f"It has {float(time.split()[0]):.3g} us.")


def test_the_review_says_what_the_channel_of_the_feed_does():
    finding = finding_of(feed, pan(MEASURED), "feed-measured")
    # 0.2 of 50 % at the top of the track, 270 of 300 deg: 0.4 % of 285 deg, as it is clamped in the middle
    assert finding.measured == pytest.approx(0.004 * 285.0, rel=1e-9)
    assert finding.text == (
        "The feed is measured and divided out, so that feed and reference cancel: its divider, "
        "50 % ± 0.2 %, can put the position off by 1.14 deg; the need is 1 deg."
    )
    assert not [each for each in feed.findings(design_of(pan(MEASURED))) if each.key == "feed-spread"]


PULLED = WIRING + ', pull = { down = "100 kohm" }'


@pytest.mark.parametrize("converter", [f'{TABLE}, reference = "3.3 V"', MEASURED, SAMPLED])
def test_the_findings_tell_the_codes_of_a_broken_wire(converter):
    circuit = design_of(pan(converter, PULLED))
    keys = ("open-feed", "open-ground", "open-wiper", "wiper-to-ground", "wiper-to-feed")
    found = {finding.key: finding for finding in findings(circuit)}
    for key, fault in zip(keys, WireFault, strict=True):
        codes = [step.result for step in found[key].steps if step.symbol == "n"]
        assert codes == list(fault_codes(circuit, fault)[0, [0, -1]])


REFUSED = [
    (
        f'{FIXED}, table = [["1 V", 1000]]',
        "converter.table: '[['1 V', 1000]]' is not a row of two pairs or more. "
        'Write pairs that rise, as in [["0.8 V", 820], ["1.6 V", 1810], ["2.5 V", 2800]].',
    ),
    (
        f'{FIXED}, table = [["1 V", 1000], ["2 V", 2000], ["3 V", 1990]]',
        "converter.table: it does not rise from (2 V, 2000) to (3 V, 1990). "
        "Put the pairs in order, and leave out what stands still.",
    ),
    (
        f'{FIXED}, table = [["1 V", 1000], ["3 V", 5000]]',
        "converter.table: it runs from code 1000 to 5000, 12 bits go from 0 to 4095. "
        "Mend the table, or converter.bits.",
    ),
    (
        f'{FIXED}, table = [["1 A", 1000], ["3 V", 3000]]',
        "converter.table: '1 A' is a current, a voltage is asked for. Write it in V, mV or uV.",
    ),
    (
        'inl = "2048 LSB"',
        "converter.inl: '2048 LSB' cannot be, a limit lies in 0 to 1000 LSB. "
        'Write the limit, as in "2 LSB".',
    ),
    (
        'feed_channel = { ratio = "50 %" }',
        "converter.feed_channel: the full scale is the feed itself, there is nothing to correct. "
        "Give 'reference' in volts, or leave it out.",
    ),
    (
        f'{FIXED}, feed_channel = {{ ratio = "100 %" }}',
        "converter.feed_channel: it sees 3.3 V of the feed, full scale can be as low as 3.234 V. "
        "Divide the feed further.",
    ),
    (
        f'{FIXED}, feed_channel = {{ noise = "1 LSB" }}',
        "converter.feed_channel.noise: it plays no part without 'ratio'. Give 'ratio' too, or leave it out.",
    ),
    (
        'neighbour = "50 %"',
        "converter.neighbour: it plays no part without 'sampling_time'. "
        "Give 'sampling_time' too, or leave it out.",
    ),
]


@pytest.mark.parametrize(("converter", "sentence"), REFUSED)
def test_a_converter_that_cannot_be_is_refused_with_a_sentence(converter, sentence):
    with pytest.raises(RigError) as refused:
        pan(converter)
    assert [str(each) for each in refused.value.problems] == [f"pan.toml, axis 'pan', {sentence}"]


def test_few_bits_cannot_have_a_limit_of_all_their_codes():
    with pytest.raises(RigError) as refused:
        pan('inl = "8 LSB"', bits=4)
    assert [str(each) for each in refused.value.problems] == [
        "pan.toml, axis 'pan', converter.inl: a limit of 8 LSB, 4 bits have 16 codes. Mend the value."
    ]


def test_a_sample_that_is_far_too_short_is_refused():
    # 6.5 kohm and 14 pF at mid travel: exp(-20 ns / 91 ns) is left
    with pytest.raises(RigError) as refused:
        pan('sampling_time = "20 ns"', BARE.replace("1 kohm", "3 kohm"))
    percent = 100.0 * math.exp(-20e-9 / (6.5e3 * 14e-12))
    assert [str(each) for each in refused.value.problems] == [
        f"pan.toml, axis 'pan', converter.sampling_time: the sample ends with {percent:.3g} % of the channel "
        "before it still there, 50 % is the most. Sample for longer, or put a capacitor at the pin."
    ]
