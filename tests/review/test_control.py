"""Delay, phase and rate; expected values from published control notes, or by hand beside them."""

from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity

Found = Callable[..., Mapping[str, Finding]]
WORDS = ("sensor={kind='serial', delay='0 s'}", "wiring={}")


def test_the_delay_is_that_of_sensor_frame_and_line(found: Found) -> None:
    # 90 deg/s times 200 us; with the frame of 4098 us beside; with a line of 20 ms beside
    word = ("sensor={kind='serial'}", "wiring={}", "converter={}")
    pulse = ("sensor={kind='pulse-width'}", "wiring={}", "converter={}")
    assert found(*word)["sensor-delay"].measured == pytest.approx(0.018)
    assert found(*pulse)["sensor-delay"].measured == pytest.approx(90.0 * 4298e-6)
    slow = found(*word[:2], "converter={delay='20 ms'}")["sensor-delay"]
    assert slow.severity is Severity.CAUTION
    assert slow.measured == pytest.approx(90.0 * 20.2e-3)
    assert slow.text == (
        "The reading is 20.2 ms late: at 90 deg/s it trails the axis by 1.818 deg; the need is 1 deg."
    )
    assert slow.remedy == "Take a faster sensor or line, or read at rest."


@pytest.mark.parametrize(
    ("delay", "crossover", "phase"),
    # Control notes: a delay costs 360 f tau degrees. 20 ms at 2 Hz are 14.4 deg; one sample of 20 ms at 0.5,
    # 5 and 25 Hz (a hundredth, a tenth, half of 50 Hz) 3.6, 36 and 180 deg.
    [("20 ms", "2 Hz", 14.4), ("20 ms", "0.5 Hz", 3.6), ("20 ms", "5 Hz", 36.0), ("20 ms", "25 Hz", 180.0)],
)
def test_a_delay_costs_the_phase_of_the_notes(found: Found, delay: str, crossover: str, phase: float) -> None:
    finding = found(*WORDS, f"converter={{delay='{delay}'}}", f"loop.crossover={crossover}")["loop-phase"]
    assert finding.measured == pytest.approx(phase)
    assert finding.severity is (Severity.NOTE if phase <= 10.0 else Severity.CAUTION)


@pytest.mark.parametrize(
    ("delay", "said"),
    # By hand at 2 Hz: 720 deg/s times the delay; 5 deg at 6.94 ms, 10 deg at 13.9 ms.
    [("6.9 ms", "4.97 deg of phase at the crossover of 2 Hz, little"),
     ("7 ms", "5.04 deg of phase at the crossover of 2 Hz, as much as is usual"),
     ("13.8 ms", "9.94 deg of phase at the crossover of 2 Hz, as much as is usual"),
     ("13.9 ms", "10 deg of phase at the crossover of 2 Hz, more than is usual")],
)  # fmt: skip
def test_five_to_ten_degrees_are_usual(found: Found, delay: str, said: str) -> None:
    finding = found(*WORDS, f"converter={{delay='{delay}'}}", "loop.crossover=2 Hz")["loop-phase"]
    assert finding.text == (
        f"The delay of the reading costs {said}: at most 5 to 10 deg. What the samples cost comes on top."
    )


def test_a_filter_counts_as_a_delay_of_its_time_constant(found: Found) -> None:
    # By hand: 3.5 kohm and 1 uF are 3.5 ms, at 2 Hz 2.52 deg.
    phase = found("wiring.capacitor=1 uF", "loop.crossover=2 Hz", rig="no-pull")["loop-phase"]
    assert phase.measured == pytest.approx(360.0 * 2.0 * 3.5e-3)


@pytest.mark.parametrize(
    ("sample", "severity"),
    [("50 Hz", Severity.NOTE), ("20 Hz", Severity.NOTE), ("19.9 Hz", Severity.CAUTION)],
)
def test_ten_samples_a_crossover_are_the_least(found: Found, sample: str, severity: Severity) -> None:
    assert found("loop.crossover=2 Hz", f"loop.sample={sample}")["loop-sampling"].severity is severity


def test_holding_a_sample_costs_half_of_it(found: Found) -> None:
    sampling = found("loop.crossover=2 Hz", "loop.sample=50 Hz")["loop-sampling"]
    # Control notes: a hold adds half a sample; 50 Hz at 2 Hz are 7.2 deg.
    assert sampling.steps[-1].result == pytest.approx(7.2)
    assert sampling.text == (
        "The position is read 25 times per period of the crossover; 10 times is the least, 20 times is "
        "better. Holding each sample costs 7.2 deg of phase."
    )


def test_a_rate_of_differences_has_the_noise_of_the_notes(found: Found) -> None:
    # Control notes: 12 bits a turn every 20 ms go in steps of 4.394 deg/s, with 1.794 deg/s of rounding; at
    # 2 turns of the sensor for one of the axis half of that.
    changes = ("sensor={kind='serial', bits=12}", "wiring={}", "converter={}", "loop.sample=50 Hz")
    noise = found(*changes)["rate-noise"]
    assert noise.measured == pytest.approx(4.394 / 2.0, abs=5e-4)
    assert noise.steps[-1].result == pytest.approx(1.794 / 2.0, abs=5e-4)
    direct = found(*changes, "drive={kind='direct'}")["rate-noise"]
    assert direct.text == (
        "A rate from two samples at 50 Hz goes in steps of 4.395 deg/s, with a standard deviation of 1.794 "
        "deg/s from rounding alone, without noise."
    )


def test_a_clipped_code_says_nothing_of_a_rate(found: Found) -> None:
    noise = found("wiring.feed=5 V", "converter.reference=3.3 V", "loop.sample=50 Hz", rig="no-pull")
    # By hand: 4096 codes on 3.3 V, 5 V on 340 deg of shaft, 2 deg of it a deg: 36.5 codes a deg, 50 a second.
    assert noise["rate-noise"].measured == pytest.approx(50.0 * 3.3 * 340.0 / 4096.0 / 5.0 / 2.0, rel=1e-6)


def test_without_a_loop_nothing_is_said(found: Found) -> None:
    assert {"loop-phase", "loop-sampling", "rate-noise", "aliasing", "too-fast"}.isdisjoint(found())


@pytest.mark.parametrize(
    ("capacitor", "severity"),
    # By hand: at the ends of the motion 0.1029 * 0.8971 * 10 kohm + 1 kohm = 1923.4 ohm; 25 Hz of corner are
    # 3.310 uF.
    [("3.3 uF", Severity.CAUTION), ("3.32 uF", Severity.NOTE)],
)
def test_the_highest_corner_lies_below_half_the_sample_rate(
    found: Found, capacitor: str, severity: Severity
) -> None:
    changes = ("sensor.track=10 kohm", f"wiring.capacitor={capacitor}", "loop.sample=50 Hz")
    finding = found(*changes, rig="no-pull")["aliasing"]
    assert (finding.severity, finding.limit) == (severity, 25.0)
