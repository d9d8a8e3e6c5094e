"""Homing, and rates of lines and edges against what sensor and counter can do."""

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from anglewright.findings import Finding, Severity
from anglewright.review.axis import review_axis
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig, read_rig

# 3000 turns a minute of a sensor of 1024 lines, as in the published example: 51.2 kHz a track
TEXT = """
[axis.spool]
motion = {{ from = "0 deg", to = "3600 deg"{speed} }}
need = {{ error = "1 deg" }}
when_unpowered = "drops"
marks = {{ flag = {{ at = "90 deg", how = "flag in the light gate" }} }}
drive = {{ kind = "direct" }}
coupling = {{ kind = "rigid" }}
sensor = {{ kind = "incremental", lines = 1024{sensor} }}
mount = {{ clamped_at = "flag"{mount} }}
converter = {{ kind = "counter"{converter} }}
"""

Found = Callable[..., Mapping[str, Finding]]


@pytest.fixture
def spool() -> Found:
    """Findings of the spool by key."""

    def by_key(**given: str) -> Mapping[str, Finding]:
        usual = {"speed": ', speed = "3000 rpm"', "sensor": "", "mount": "", "converter": ""}
        document = parse_document(TEXT.format(**(usual | given)), source="spool.toml")
        found = review_axis(build_rig(document, source="spool.toml").axis("spool"))
        return {each.key: each for each in found}

    return by_key


def test_rates_are_those_of_the_published_example(spool: Found) -> None:
    keys = spool()
    assert keys["line-rate"].measured == pytest.approx(51.2e3, rel=1e-6)
    assert keys["count-rate"].measured == pytest.approx(204.8e3, rel=1e-6)
    assert {keys[key].severity for key in ("line-rate", "count-rate")} == {Severity.NOTE}
    assert keys["line-rate"].text == "At top speed the lines on one track come at 51.2 kHz."
    assert keys["count-rate"].remedy == "Hold that against its data sheet, and give top_rate."


def test_one_edge_a_line_is_a_quarter_of_the_rate(spool: Found) -> None:
    assert spool(converter=", decode = 1")["count-rate"].measured == pytest.approx(51.2e3, rel=1e-6)


def test_a_counter_that_is_too_slow_stops_the_work(spool: Found) -> None:
    finding = spool(converter=', top_rate = "100 kHz"')["count-rate"]
    assert (finding.severity, finding.limit) == (Severity.STOP, 100e3)
    assert finding.text == (
        "At top speed the edges to count come at 204.8 kHz; the converter is good for 100 kHz."
    )
    assert finding.remedy == (
        "Take fewer lines, a smaller ratio or a lower speed: an edge that is missed is never found again."
    )


def test_a_sensor_that_is_too_slow_stops_the_work(spool: Found) -> None:
    assert spool(sensor=', top_rate = "50 kHz"')["line-rate"].severity is Severity.STOP
    assert spool(sensor=', top_rate = "52 kHz"')["line-rate"].severity is Severity.NOTE
    assert spool(sensor=', top_rate = "52 kHz ± 5 %"')["line-rate"].severity is Severity.STOP  # 49.4 at least


def test_without_a_speed_no_rate_is_said(spool: Found) -> None:
    assert not {"line-rate", "count-rate"} & set(spool(speed=""))


def test_the_homing_is_said_with_its_place_side_and_end(spool: Found) -> None:
    finding = spool(mount=', side = "falling"')["homing"]
    assert (finding.severity, finding.link) == (Severity.CAUTION, "mount")
    assert finding.text == (
        "Until the axis has been homed after a start, its code means nothing: at 'flag' (90 deg), falling, "
        "onto the switch. With the motor off the mechanism drops, and may be found anywhere."
    )
    assert finding.remedy == (
        "Refuse every position until it is homed, home at low speed and little drive, and give up with a "
        "fault if home is not found in time."
    )


def test_a_clamped_sensor_needs_no_homing(root: Path) -> None:
    axis = read_rig(root / "examples" / "rover" / "rig.toml").axis("shoulder")
    assert not {"homing", "line-rate", "count-rate"} & {each.key for each in review_axis(axis)}
