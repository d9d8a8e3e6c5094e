"""What can be planted, and the sentences for what cannot."""

import pytest

from anglewright.errors import UsageError
from anglewright.jobs.opening import open_rig
from anglewright.jobs.planting import catalogue, read_planting
from anglewright.jobs.running import Run
from anglewright.jobs.simulating import simulate

SWING = Run(motion="sine", seconds="20 s")


def planted(rover, *texts):
    return read_planting(open_rig(rover / "rig.toml").axis("shoulder"), texts, end_s=20.0)


@pytest.mark.parametrize(
    ("text", "size", "since"),
    [
        ("slip=5deg@12s", 0.0872664626, 12.0),
        ("slip = 5 deg @ 12 s", 0.0872664626, 12.0),
        ("slip@500 ms", 0.0872664626, 0.5),  # usual size
        ("slip", 0.0872664626, 10.0),  # an event: in the middle of the run
        ("noise=3", 3.0, 0.0),  # no event: from the start
        ("sag=400 mohm@1s", 0.4, 1.0),
        ("gap=26.5 h", 95400.0, 10.0),
        ("lost-bit=4", 4.0, 0.0),
        ("roll-over@0s", 0.0, 0.0),
    ],
)
def test_a_fault_is_read_with_size_and_time(rover, text, size, since):
    (found,) = planted(rover, text).faults
    assert found.size == pytest.approx(size)
    assert found.begins(20.0) == since


def test_numbers_and_faults_stand_side_by_side(rover):
    both = planted(rover, "play=1.5deg", "sensor.track=9 kohm", "slip@3s", "slip@5s")
    assert both.numbers == pytest.approx({"coupling.play": 0.0261799388, "sensor.track": 9e3})
    assert [each.since_s for each in both.faults] == [3.0, 5.0]


LEAVE = "Leave it out, or take an axis that it can happen to."
REFUSED = [
    (
        "spliced",
        "--plant: 'spliced' plants nothing in shoulder. Did you mean 'spikes' or 'duplicates' or 'swapped'?",
    ),
    ("slipp=3deg", "--plant: 'slipp=3deg' plants nothing in shoulder. Did you mean 'slip'?"),
    ("play", "--plant: 'play' plants nothing in shoulder. Give the number, as in play=VALUE."),
    ("slip=5mm", "--plant slip: '5mm' is a length, an angle is asked for. Write it in deg, rad or turn."),
    ("slip=5", "--plant slip: '5' has no unit, an angle is asked for. Write it in deg, rad or turn."),
    (
        "slip@25s",
        "--plant slip: it begins at 25 s, the run lasts from 0 s to 20 s. "
        "Name a time in the run, or give more --seconds.",
    ),
    (
        "slip@-1s",
        "--plant slip: it begins at -1 s, the run lasts from 0 s to 20 s. "
        "Name a time in the run, or give more --seconds.",
    ),
    ("slip@5deg", "--plant slip@5deg: '5deg' is an angle, a time is asked for. Write it in s, ms or us."),
    ("frozen=3", "--plant frozen: it has no size, and '3' is given. Leave the size out."),
    ("missing-codes=2.5", "--plant missing-codes: '2.5' is not a whole number. Write it as in 16."),
    ("missing-codes=1", "--plant missing-codes: '1' is too small, the least is 2. A usual size is 16."),
    ("torn=150%", "--plant torn: '150%' is too large, the most is 1. A usual size is 50 %."),
    (
        "stuck-bit=12",
        f"--plant stuck-bit: it cannot happen to shoulder, its codes have the bits 0 to 11. {LEAVE}",
    ),
    ("smear", f"--plant smear: it cannot happen to shoulder, its readings do not wrap. {LEAVE}"),
]


@pytest.mark.parametrize(("text", "said"), REFUSED)
def test_what_cannot_be_planted_is_said_in_a_sentence(rover, text, said):
    with pytest.raises(UsageError) as caught:
        planted(rover, text)
    assert str(caught.value) == said


def test_noise_of_a_reading_is_no_number_of_the_machine(rover):
    with pytest.raises(UsageError, match=r"Did you mean 'converter\.offset'"):
        planted(rover, "converter.noise=5 LSB")


def test_help_lists_every_fault(rover):
    with pytest.raises(UsageError) as caught:
        planted(rover, "help")
    assert str(caught.value).splitlines() == [f"{line}." for line in catalogue()]
    assert (
        "slip=5deg@TIME: the shaft slips in its coupling; the line drawn over shaft and coupling is broken."
        in str(caught.value)
    )


def test_the_truth_tells_every_fault_with_size_and_time(rover):
    import tomllib

    out = rover / "log.csv"
    result = simulate(
        open_rig(rover / "rig.toml"),
        None,
        plant=["play=3deg", "slip=5deg@12s", "torn"],
        out=out,
        run=SWING,
    )
    truth = tomllib.loads((rover / "log.csv.truth.toml").read_text(encoding="utf-8"))
    assert truth == result.as_json()["truth"]
    assert truth["planted_si"] == pytest.approx({"coupling.play": 0.0523598776})
    assert [(each["name"], each["from_s"]) for each in truth["faults"]] == [("slip", 12.0), ("torn", 0.0)]
    assert truth["faults"][0]["size_si"] == pytest.approx(0.0872664626)
    assert truth["faults"][1]["acts_on"] == ["code"]
    assert truth["motion"] == "sine"
    assert len(truth["positions"]) == len(truth["times_s"]) == 2001
    assert "slip" in result.headline


def test_a_number_that_no_part_has_is_not_asked_for_again(rover):
    text = (rover / "rig.toml").read_text(encoding="utf-8")
    text = text.replace('kind = "d-bore"', 'kind = "rigid"').replace('play = "3 deg"', "")
    (rover / "rig.toml").write_text(text, encoding="utf-8")
    with pytest.raises(UsageError) as refused:
        planted(rover, "play=1deg")
    assert str(refused.value) == (
        "--plant: 'play=1deg' plants nothing in shoulder, its parts have no coupling.play. "
        "Give the part that number in the rig file first, or plant another fault."
    )
