"""What the diagnosis says of readings that were written down by hand."""

from collections.abc import Callable

import pytest

from anglewright.testsheet.diagnosis import Diagnosis
from anglewright.testsheet.faults import KEYS
from anglewright.testsheet.hypotheses import faults_of
from anglewright.testsheet.sheet import AxisUnderTest

STILL = ("code-at-low", "code-at-high", "stop-low", "stop-high")
Said = Callable[..., Diagnosis]
Sheet = Callable[[str], AxisUnderTest]

# The sensor of the shoulder turned on by 40 deg of 340, by hand: 10 kohm, a contact of 150 ohm, 100 kohm at
# the pin behind 1 kohm. At the high stop the wiper has gone through the gap of 20 deg and is 1 deg up the
# track.
SLIPPED = {
    "resistance-low": "2.356 kohm",
    "resistance-high": "7.944 kohm",
    "signal-at-stow": "0.7147 V",
    "code-at-stow": "878",
    "signal-at-pin": "1.9888 V",
    "code-at-pin": "2444",
    "stop-low": "692",
    "stop-high": "12",
}


def test_a_sheet_within_its_limits_is_healthy(shoulder: AxisUnderTest, said: Said) -> None:
    found = said(shoulder, {})
    assert (found.verdict, found.failed) == ("healthy", ())


def test_without_a_witness_line_a_small_slip_is_not_excluded_and_the_line_would_tell(
    shoulder: AxisUnderTest, said: Said
) -> None:
    found = said(shoulder, {}, without=("witness-line",))
    assert found.verdict == "healthy"
    assert {"body turned", "shaft slipped"} <= set(found.names)
    assert "witness-line" in [check.key for check in found.parted_by]


@pytest.mark.parametrize(("line", "name"), [("body", "body turned"), ("shaft", "shaft slipped")])
def test_the_witness_line_tells_the_body_from_the_shaft(
    shoulder: AxisUnderTest, said: Said, line: str, name: str
) -> None:
    assert said(shoulder, SLIPPED | {"witness-line": line}).names == (name,)


def test_without_the_witness_line_body_and_shaft_are_a_pair(shoulder: AxisUnderTest, said: Said) -> None:
    found = said(shoulder, SLIPPED | {"witness-line": "none"})
    assert found.names == ("body turned", "shaft slipped")
    assert found.verdict == "cannot tell"


ALONE = {
    "jumping track": {"resistance-turning": "jumps"},
    "loose coupling": {"wiggle-coupling": "300"},
    "flexing cable": {"wiggle-cable": "200"},
    "noisy reading": {"noise": "60"},
    "motor's sign inverted": {"sign-of-motor": "falls", "sign-of-loop": "runs away"},
    "loop's sign inverted": {"sign-of-loop": "runs away"},
}


@pytest.mark.parametrize("name", ALONE)
def test_a_fault_that_shows_in_one_check_is_named(shoulder: AxisUnderTest, said: Said, name: str) -> None:
    assert said(shoulder, ALONE[name]).names == (name,)


def test_too_much_of_the_sum_is_a_bad_contact(bare_shoulder: AxisUnderTest, said: Said) -> None:
    """2 kohm in the wiper's wire: both parts read it, the whole does not."""
    ohms = {"resistance-low": "3.03 kohm", "resistance-high": "10.97 kohm", "resistance-sum": "4.0 kohm"}
    assert said(bare_shoulder, ohms).names == ("bad wiper contact",)


def test_two_faults_at_once_are_none_of_the_known(shoulder: AxisUnderTest, said: Said) -> None:
    found = said(shoulder, {"resistance-ends": "open", "resistance-high": "open", "feed-alone": "5 V"})
    assert found.verdict == "none of the known"
    assert {check.key for check in found.failed} == {"resistance-ends", "resistance-high", "feed-alone"}


def test_swapped_ends_cannot_be_seen_in_the_middle_and_the_other_mark_would_tell(
    bare_shoulder: AxisUnderTest, said: Said
) -> None:
    only = ("resistance-ends", "feed-alone", "signal-at-pin", "witness-line")
    others = tuple(check.key for check in bare_shoulder.checks if check.key not in only)
    found = said(bare_shoulder, {}, without=others)
    assert {"healthy", "swapped ends"} <= set(found.names)
    asked = {check.key for check in found.parted_by}
    assert asked & {"resistance-low", "signal-at-stow", "code-at-stow", "sign-by-hand"}


def test_a_reading_that_goes_the_other_way_is_no_wire_that_is_open_or_touches(
    shoulder: AxisUnderTest, said: Said
) -> None:
    """Nothing but exchanged ends lets the reading fall; a wire or a slip holds it still at worst."""
    others = tuple(check.key for check in shoulder.checks if check.key != "sign-by-hand")
    found = said(shoulder, {"sign-by-hand": "falls"}, without=others)
    assert found.names == ("swapped ends",)
    assert "mount.output" in found.candidates[0].fault.remedy
    still = said(shoulder, {"sign-by-hand": "still"}, without=others).names
    assert {"open feed", "short to ground", "shaft slipped"} <= set(still)
    assert "swapped ends" not in still


def test_a_feed_of_nothing_is_an_open_feed_and_no_wiper_that_floats(
    shoulder: AxisUnderTest, said: Said
) -> None:
    others = tuple(check.key for check in shoulder.checks if check.key != "feed-alone")
    assert said(shoulder, {"feed-alone": "0"}, without=others).names == ("open feed",)


def test_an_open_ground_reads_high_as_computed_for_this_circuit(shoulder: AxisUnderTest, said: Said) -> None:
    """With 100 kohm at the pin behind 1 kohm it reads 3724 at -20 deg (computed for the shoulder)."""
    reads = {
        "resistance-ends": "open", "resistance-low": "open", "signal-at-stow": "3.031 V",
        "code-at-stow": "3724",
        "signal-at-pin": "3.143 V", "code-at-pin": "3860", "stop-low": "3712", "stop-high": "4028",
    }  # fmt: skip
    assert said(shoulder, reads).names == ("open ground",)


def test_a_feed_of_5_volts_for_3_3_is_the_wrong_rail(bare_shoulder: AxisUnderTest, said: Said) -> None:
    """Codes rise by 5/3.3 and stop at the top: the clip lies at 66 % of the travel (3.3/5)."""
    reads = {
        "feed-alone": "5 V", "signal-at-stow": "0.5147 V", "code-at-stow": "638", "signal-at-pin": "2.5 V",
        "code-at-pin": "3103", "stop-low": "346", "stop-high": "4095",
    }  # fmt: skip
    found = said(bare_shoulder, reads)
    assert found.names == ("feed from the wrong rail",)
    assert found.candidates[0].variant.where == "a higher one"


DIGITAL = """
rig = "Bench"
[axis.a]
motion = {{ from = "-20 deg", to = "115 deg" }}
need = {{ error = "1 deg" }}
when_unpowered = "holds"
[axis.a.marks]
low = {{ at = "-20 deg" }}
high = {{ at = "110 deg" }}
[axis.a.sensor]
{sensor}
"""
WORDS = 'kind = "serial"\nbits = 12'


def test_a_dead_line_is_no_signal(sheet: Sheet, said: Said) -> None:
    tested = sheet(DIGITAL.format(sensor=WORDS))
    still = dict.fromkeys(STILL, "77")
    signs = {"frame": "none", "sign-by-hand": "still", "sign-of-motor": "still", "sign-of-loop": "runs away"}
    assert said(tested, still | signs).names == ("no signal",)


def test_damaged_frames_and_lost_counts_are_told_apart_from_slips(sheet: Sheet, said: Said) -> None:
    words = sheet(DIGITAL.format(sensor=WORDS))
    assert said(words, {"frame": "damaged"}).names == ("damaged frames",)
    counts = sheet(DIGITAL.format(sensor='kind = "incremental"\nlines = 1024'))
    assert said(counts, {"out-and-back": "400"}).names == ("lost counts on the way",)
    assert said(counts, {"homing-twice": "900"}).names == ("lost counts",)


def test_a_sensor_that_counts_the_other_way_is_named(sheet: Sheet, said: Said) -> None:
    """12 bit, 2048 at -20 deg as clamped: 130 deg on it reads 2048 - 1479."""
    tested = sheet(DIGITAL.format(sensor=WORDS))
    turned = {"code-at-high": "569", "stop-low": "2125", "stop-high": "435"}
    signs = {"sign-by-hand": "falls", "sign-of-motor": "falls", "sign-of-loop": "runs away"}
    assert said(tested, turned | signs).names == ("counts the other way",)


def test_every_fault_has_a_key_that_is_documented_and_a_remedy(shoulder: AxisUnderTest, sheet: Sheet) -> None:
    benches = [shoulder.bench, sheet(DIGITAL.format(sensor=WORDS)).bench]
    faults = [fault for bench in benches for fault in faults_of(bench, sense="rises") if not fault.is_none]
    assert {fault.key for fault in faults} <= set(KEYS)
    assert all(fault.what and fault.remedy.endswith(".") and fault.link for fault in faults)
