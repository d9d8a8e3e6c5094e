"""Pulse-width and serial sensors: frames, clocks, ticks, words, and what reads them."""

import math

import numpy as np
import pytest

from anglewright.budget.contributions import ErrorMap, Play, contributions
from anglewright.errors import RigError
from anglewright.links.digital import DigitalPart
from anglewright.links.protocol import PulsePort, WordPort
from anglewright.links.pulse_timer import PulseTimer, edge_share
from anglewright.links.serial_word import WordReader
from anglewright.rig import at_nominal, datasheet_line, realise
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

RIG = """
[axis.steer]
motion = {{ from = "-120 deg", to = "120 deg" }}
need = {{ error = "1 deg" }}
when_unpowered = "holds"
coupling = {{ kind = "rigid" }}
sensor = {{ kind = "{kind}"{sensor} }}
converter = {{ {converter} }}
"""
FIRST, FRAME, POSITIONS = 1, 4098, 4096
CLOCK_S = 1e-6


def axis_of(kind, *, sensor="", converter=""):
    text = RIG.format(kind=kind, sensor=sensor, converter=converter)
    return build_rig(parse_document(text, source="rover.toml"), source="rover.toml").axis("steer")


def complaint_of(kind, **given):
    with pytest.raises(RigError) as refused:
        axis_of(kind, **given)
    return [str(each) for each in refused.value.problems]


def timer(**given):
    usual = {
        "positions": POSITIONS,
        "frame_clocks": FRAME,
        "first_clocks": FIRST,
        "clock_s": CLOCK_S,
        "assumed_s": CLOCK_S,
        "edge_s": 0.0,
    }
    return PulseTimer(**usual | given)


def middles(positions=POSITIONS):
    return (np.arange(positions) + 0.5) / positions


@pytest.mark.parametrize("clock", [0.90, 0.95, 1.0, 1.05, 1.10])
def test_the_ratio_gives_the_position_whatever_the_clock(clock):
    # field note F28: x = t_on * 4098 / (t_on + t_off) - 1, clock within 5 %, hot and cold within 10 %
    on = (np.arange(POSITIONS) + 1) * clock * CLOCK_S
    off = FRAME * clock * CLOCK_S - on
    expected = np.round(on * 4098.0 / (on + off) - 1.0)
    assert np.array_equal(timer(clock_s=clock * CLOCK_S).forward(middles()), expected)
    assert np.array_equal(expected, np.arange(4096.0))


@pytest.mark.parametrize(("clock", "code"), [(1.05, 4095.0), (0.95, 4095 - 205)])
def test_the_high_time_alone_errs_by_the_clock(clock, code):
    last = middles()[-1]
    found = timer(clock_s=clock * CLOCK_S, by_ratio=False)
    assert found.forward(last) == code  # at or beyond the end, or 5 % of 4096 codes short of it
    assert found.codes.ends_valid is False


def test_the_high_time_alone_errs_by_up_to_18_degrees():
    # field note F28: "up to 5 % = 18 deg at full scale"
    axis = axis_of("pulse-width", converter='method = "high time"')
    clock = contribution(axis, "sensor", "clock")
    line = 360.0 / 4096.0
    # at 120 deg the share of the turn is 5/6 (clamped at 50 % in the middle of the range)
    at_end = np.degrees(clock.worst[-1])
    assert at_end == pytest.approx(0.05 * 5.0 / 6.0 * 360.0, abs=2 * line)
    assert at_end * 6.0 / 5.0 == pytest.approx(18.0, abs=0.2)


def test_by_the_ratio_the_clock_is_worth_nothing():
    clock = contribution(axis_of("pulse-width"), "sensor", "clock")
    assert np.degrees(clock.worst.max()) < 1e-6


def contribution(axis, link, quantity):
    errors = ErrorMap(axis=axis, line=datasheet_line(axis), positions=axis.positions(25))
    found = contributions(errors, Play.TWO_SIDED)
    return next(each for each in found if (each.link, each.quantity) == (link, quantity))


@pytest.mark.parametrize("share", [0.02, 0.3, 0.5, 0.9])
def test_edges_timed_to_a_tick_err_as_stated(share):
    # edges at any moment, each taken at the tick before it: an independent stopwatch
    rng, tick = np.random.default_rng(4), 1.0
    start = rng.uniform(0.0, 1000.0, 60_000)
    clock = rng.uniform(0.95, 1.05, 60_000)  # no whole number of ticks to a clock
    on, frame = share * 4098.0 * clock, 4098.0 * clock
    first, fall, second = (np.floor(each / tick) for each in (start, start + on, start + frame))
    high = (fall - first) - on
    ratio = (fall - first) / (second - first) * 4098.0 - share * 4098.0
    assert high.std() == pytest.approx(1.0 / math.sqrt(6.0), rel=0.02)  # triangular, a tick either way
    assert ratio.std() == pytest.approx(edge_share(share) / math.sqrt(6.0), rel=0.03)


def test_a_tick_is_a_triangular_number_fresh_at_each_reading():
    part = axis_of("pulse-width", converter='tick = "0.5 us"').part("converter")
    tick = next(number for number in part.numbers if number.name == "tick")
    assert tick.variate.standard_uncertainty == pytest.approx(0.5e-6 / math.sqrt(6.0))
    assert tick.variate.persistence.value == "reading"


def test_a_coarse_tick_shows_in_the_budget():
    tick = contribution(axis_of("pulse-width", converter='tick = "10 us"'), "converter", "tick")
    # at mid-turn: 10 clocks / sqrt 6 * sqrt 3 / 2, in positions of 360 / 4096 deg
    expected = 10.0 / math.sqrt(6.0) * math.sqrt(0.75) * 360.0 / 4096.0
    assert np.degrees(tick.standard_uncertainty[12]) == pytest.approx(expected, rel=1e-3)


def test_a_pulse_is_known_when_its_frame_is_over():
    link, t = timer(), np.arange(0.0, 0.05, 1e-4)
    share = np.mod(3.0 * t, 1.0)
    path, _ = link.follow(share, t, None)
    late = t > 0.006
    assert np.all(np.abs(path[late] / 4096.0 - 3.0 * (t[late] - 4.098e-3)) < 3.0 * 1e-4 + 2.0 / 4096.0)


def test_clocks_of_many_machines_make_a_table():
    clocks = np.array([[0.95e-6], [1.0e-6], [1.05e-6]])
    table = timer(clock_s=clocks, by_ratio=False).forward(middles()[:3900:7])
    for row, clock in zip(table, clocks[:, 0], strict=True):
        assert np.array_equal(row, timer(clock_s=float(clock), by_ratio=False).forward(middles()[:3900:7]))


@pytest.mark.parametrize("kept", [4, 8, 12, 14])
def test_the_upper_bits_are_those_of_the_word(kept):
    words = np.arange(2**14)
    found = WordReader(positions=2**kept).forward((words + 0.5) / 2**14)
    assert np.array_equal(found, words >> (14 - kept))


def test_a_word_may_be_any_position_and_comes_round():
    codes = realise(axis_of("serial"), at_nominal).codes
    assert (codes.low, codes.high, codes.period, codes.ends_valid) == (0, 16383, 16384, True)
    assert (codes.lowest_valid, codes.highest_valid) == (0, 16383)


def test_a_serial_chain_counts_the_turn_from_the_clamping():
    chain = realise(axis_of("serial", sensor=', bits = 12, hysteresis = "0 deg"'), at_nominal)
    for at_deg in (-120.0, -0.05, 0.05, 90.0, 119.99):
        assert chain.forward(math.radians(at_deg)) == math.floor(4096.0 * (0.5 + at_deg / 360.0))


def test_a_slow_line_hands_on_old_words_and_none_in_between():
    link, t = WordReader(positions=4096, delay_s=9.5e-3), np.arange(0.0, 1.0, 1e-3)
    share = np.mod(np.floor(4096 * 2.0 * t), 4096) / 4096 + 0.5 / 4096
    path, _ = link.follow(share, t, None)
    assert np.array_equal(path[10:], link.forward(share[:-10]))


def test_digital_wiring_hands_on_what_the_sensor_sends():
    part = axis_of("serial").part("wiring")
    assert isinstance(part, DigitalPart)
    for port in (
        WordPort(positions=64),
        PulsePort(positions=64, frame_clocks=66, first_clocks=1, clock_s=CLOCK_S),
    ):
        link = part.link({}, port)
        assert link.port is port
        assert (link.forward(0.25), link.backward(0.25)) == (0.25, 0.25)


def test_a_cable_of_known_length_says_so():
    whole = RIG.replace("converter =", 'wiring = {{ length = "2 m" }}\nconverter =')
    text = whole.format(kind="serial", sensor="", converter="")
    axis = build_rig(parse_document(text, source="rover.toml"), source="rover.toml").axis("steer")
    assert axis.part("wiring").describe() == "Digital, 2 m of cable"
    assert axis.part("wiring").lead_gauge == 24


def test_not_ready_at_power_up_is_assumed_and_shown():
    for kind in ("serial", "pulse-width"):
        axis = axis_of(kind)
        shown = {each.key: each.value for each in axis.assumptions}
        assert shown["converter.ready_after"] == "250 ms"
        assert shown["converter.good_frames"] == "3"
        assert axis.part("converter").ready_s.nominal == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("kind", "given", "complaint"),
    [
        (
            "serial",
            {"converter": "bits = 16"},
            "converter: 16 bits are kept, the sensor's word has 14. Leave bits out to keep the whole word.",
        ),
        (
            "serial",
            {"converter": 'kind = "pulse-timer"'},
            "converter: a pulse timer must follow a sensor that sends pulses. Change the converter's or the "
            "sensor's kind; the wiring between them is digital.",
        ),
        (
            "pulse-width",
            {"converter": 'kind = "serial-word"'},
            "converter: a serial line must follow a sensor that sends words. Change the converter's or the "
            "sensor's kind; the wiring between them is digital.",
        ),
        (
            "pulse-width",
            {"converter": 'method = "duty"'},
            "converter.method: 'duty' is none of its words. Known: high time, ratio.",
        ),
        (
            "pulse-width",
            {"sensor": ', clock = "1 us ± 1 us"'},
            "sensor.clock: '1 us ± 1 us' is not above zero over its whole spread. Mend "
            "the value or its spread.",
        ),
    ],
)
def test_what_does_not_fit_is_refused(kind, given, complaint):
    assert complaint_of(kind, **given) == [f"rover.toml, axis 'steer', {complaint}"]
