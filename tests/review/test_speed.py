"""Speed of the sensor's shaft, and its turn from sample to sample; expected values by hand."""

from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity

Found = Callable[..., Mapping[str, Finding]]
WORDS = ("wiring={}", "converter={}")


@pytest.mark.parametrize(
    ("sensor", "severity", "text", "remedy"),
    [
        ("", Severity.NOTE, "30 rpm; its data sheet must allow it.", "Give top_speed."),
        (", top_speed='100 rpm'", Severity.NOTE, "30 rpm; it reads up to 100 rpm.", ""),
        (", top_speed='29 rpm'", Severity.STOP, "30 rpm; it reads up to 29 rpm.",
         "Take a smaller ratio or a faster sensor."),
    ],
)  # fmt: skip
def test_the_shaft_may_be_too_fast(
    found: Found, sensor: str, severity: Severity, text: str, remedy: str
) -> None:
    # 90 deg/s times 2 is 180 deg/s, 30 turns a minute
    speed = found(f"sensor={{kind='serial'{sensor}}}", *WORDS)["sensor-speed"]
    assert speed.measured == pytest.approx(30.0, rel=1e-6)
    assert (speed.severity, speed.remedy) == (severity, remedy)
    assert speed.text == f"At top speed the sensor's shaft turns at {text}"


def test_a_track_has_a_top_speed_too(found: Found) -> None:
    assert found()["sensor-speed"].severity is Severity.NOTE
    assert found("sensor.top_speed=20 rpm")["sensor-speed"].severity is Severity.STOP
    assert found("sensor.top_speed=20 rpm", "motion.speed=59 deg/s")["sensor-speed"].severity is Severity.NOTE


def test_without_a_speed_nothing_is_said(found: Found) -> None:
    silent = found("motion={from='-20 deg', to='115 deg'}", "loop.sample=50 Hz")
    assert {"sensor-speed", "turn-per-sample", "sensor-delay", "too-fast"}.isdisjoint(silent)


@pytest.mark.parametrize(
    ("sample", "severity"),
    # Half a turn from sample to sample, as numpy's unwrap has it: 180 deg/s pass 180 deg at 1 Hz.
    [("1.01 Hz", Severity.NOTE), ("0.99 Hz", Severity.STOP)],
)
def test_from_half_a_turn_a_sample_on_nobody_can_tell(found: Found, sample: str, severity: Severity) -> None:
    finding = found("sensor={kind='serial'}", *WORDS, f"loop.sample={sample}")["turn-per-sample"]
    assert (finding.severity, finding.limit) == (severity, 180.0)
    assert "from 180 deg on nobody can tell how often the reading has come round" in finding.text


def test_a_hundred_samples_a_second_are_good_below_3000_turns_a_minute(found: Found) -> None:
    # Handbook of checks: at 100 samples a second strictly below 3000 rpm; 2 turns of the shaft a turn.
    words = ("sensor={kind='serial'}", *WORDS, "loop.sample=100 Hz")
    assert found(*words, "motion.speed=1499 rpm")["turn-per-sample"].severity is Severity.NOTE
    assert found(*words, "motion.speed=1501 rpm")["turn-per-sample"].severity is Severity.STOP
