"""Whatever is wrong with a command, its files or its readings is said in one sentence with a remedy."""

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

Door = Callable[..., Any]

TODAY = date.today().isoformat()
USAGE = [
    (["budgt"], "there is no command 'budgt'. Did you mean 'budget'?"),
    (["budget"], "budget: the following arguments are required: RIG. See: anglewright budget --help."),
    (
        ["budget", "rig.toml", "sholder"],
        "rig.toml: there is no axis 'sholder'. Did you mean 'shoulder'?",
    ),
    (
        ["budget", "rig.toml", "--state", "calibratd"],
        "--state: there is no state 'calibratd'. Did you mean 'calibrated'?",
    ),
    (["budget", "rig.toml", "--jsn"], "budget: there is no option --jsn. Did you mean --json?"),
    (
        ["calibrate", "--dryrun", "rig.toml"],
        "calibrate: there is no option --dryrun. Did you mean --dry-run?",
    ),
    (
        ["calibrate", "rig.toml", "run.csv", "--modle", "line"],
        "calibrate: there is no option --modle. Did you mean --model?",
    ),
    (
        ["calibrate", "rig.toml", "run.csv", "--foo", "--dry-run"],
        "calibrate: there is no option --foo. See: anglewright calibrate --help.",
    ),
    (
        ["calibrate", "rig.toml", "shoulder", "run.csv", "--as", "raw"],
        "--as: 'raw' is said without its value. Write --as raw=VALUE.",
    ),
    *(
        (
            [*words, "--date", "2999-01-01"],
            f"--date: 2999-01-01 is still to come, and by this machine's clock today is {TODAY}. "
            "Give the day on which it was done; if the clock is wrong, set it first.",
        )
        for words in (
            ["calibrate", "rig.toml", "shoulder", "shoulder-bench.csv"],
            ["verify", "rig.toml", "shoulder", "shoulder-bench.csv"],
            ["note", "rig.toml", "shoulder", "hub tightened"],
            ["zero", "rig.toml", "shoulder", "2048"],
            ["ready", "rig.toml", "shoulder=2048"],
        )
    ),
    (
        ["budget", "rig.toml", "shoulder", "deg"],
        "unrecognized arguments: deg. Put a value with a blank in it in quotes. See: anglewright --help.",
    ),
    (
        ["budget", "rig.toml", "--set", "play"],
        "--set: 'play' is not a change. Write AXIS.TABLE.KEY=VALUE, as in "
        '--set shoulder.coupling.play="0 deg".',
    ),
    (
        ["expect", "rig.toml", "shoulder", "-29deg"],
        "axis 'shoulder': it cannot stand at -29 deg, the mechanism's stops are at -28 deg and 123 deg. "
        "Name another position.",
    ),
    (
        ["expect", "rig.toml", "shoulder", "pinn"],
        "axis 'shoulder': 'pinn' is neither a mark nor a position. Did you mean 'pin'? "
        "Or write a position in deg.",
    ),
    (
        ["expect", "rig.toml", "shoulder", "5mm"],
        "axis 'shoulder': '5mm' is neither a mark nor a position. Known: pin, stow. "
        "Or write a position in deg.",
    ),
    (["read", "rig.toml"], "read: the following arguments are required: RAW. See: anglewright read --help."),
    (
        ["read", "rig.toml", "2048", "--record", "2026-05-12-1"],
        "axis 'shoulder': there is no calibration record '2026-05-12-1'. Run calibrate first.",
    ),
    (
        ["read", "rig.toml", "2048", "--state", "calibrated"],
        "axis 'shoulder': no calibration yet. Run: anglewright calibrate RIG shoulder FILE.",
    ),
    (
        ["read", "rig.toml", "2048", "--state", "zeroed", "--record", "2026-05-12-1"],
        "axis 'shoulder': record 2026-05-12-1 and the state 'zeroed' are both asked for. "
        "Leave one of them out.",
    ),
    (
        ["simulate", "rig.toml", "--seed", "seven", "--out", "x.csv"],
        "--seed: 'seven' is not a whole number. Write it as in --seed 7.",
    ),
    (
        ["simulate", "rig.toml", "--seed", "-7", "--out", "x.csv"],
        "seed: -7 is below 0. Give a whole number from 0 on.",
    ),
    (
        ["simulate", "rig.toml", "--plant", "plya=3deg", "--out", "x.csv"],
        "--plant: 'plya=3deg' plants nothing in shoulder. Did you mean 'play'?",
    ),
    (
        ["simulate", "rig.toml", "--plant", "play=3mm", "--out", "x.csv"],
        "--plant coupling.play: '3mm' is a length, an angle is asked for. Write it in deg, rad or turn.",
    ),
    (
        ["simulate", "rig.toml", "--plant", "play=-3deg", "--out", "x.csv"],
        "--plant coupling.play: '-3deg' is below 0. Give 0 or more.",
    ),
    (
        ["calibrate", "rig.toml", "shoulder-bench.csv", "--date", "12.5.2026"],
        "date: '12.5.2026' is not a day. Write it as 2026-05-12.",
    ),
    (
        ["calibrate", "rig.toml", "shoulder", "shoulder-bench.csv", "--typed"],
        "calibrate: a file and --typed are both given. Leave one of them out.",
    ),
    (
        ["withdraw", "rig.toml", "2026-05-12-1"],
        "withdraw: the following arguments are required: --because. See: anglewright withdraw --help.",
    ),
    (
        ["handover", "rig.toml", "--out", "code", "--language", "basic"],
        "hand-over: nothing is handed over in the language 'basic'. Known: c.",
    ),
    (
        ["explain", "rig.toml", "-20deg", "pin"],
        "explain: '-20deg' and 'pin' are both given, one position is explained at a time. Leave one out.",
    ),
    (
        ["new", "a", "--moves=a", "--from=0deg", "--to=9deg", "--error=1deg", "--sensor=pot", "--ratio=1"],
        "sensor: kind 'pot' is not known. Did you mean 'potentiometer'?",
    ),
    (
        ["new", "a", "--moves=a", "--from=0deg", "--to=9deg", "--error=1deg", "--sensor=potentiometer",
         "--ratio=1e99"],
        "ratio: '1e99' is no ratio. Write the teeth from axis to sensor, 48:24, or turns of the sensor per "
        "turn of the axis, 2.",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("words", "said"), USAGE, ids=[" ".join(words) for words, _ in USAGE])
def test_a_wrong_command_is_answered_with_code_2(door: Door, words: list[str], said: str) -> None:
    answer = door(*words)
    assert answer.err == f"anglewright: {said}\n"
    assert (answer.code, answer.out) == (2, "")


DATA = [
    (
        ["check", "rigg.toml"],
        "rigg.toml: there is no such file. Check the path, or make a new rig with: anglewright new DIR.",
    ),
    (["check", "."], ".: it cannot be read (is a directory). Name a rig file."),
    (
        ["calibrate", "rig.toml"],
        "calibrate: there are no readings. Name a file, or type readings with --typed.",
    ),
    (["calibrate", "rig.toml", "none.csv"], "none.csv: there is no such file. Check the path."),
    (["calibrate", "rig.toml", "."], ".: it cannot be read (is a directory). Name a file."),
    (
        ["read", "rig.toml", "shoulder", "nan"],
        "raw: 'nan' is not a number. Give what the controller shows, as in 2048.",
    ),
    (
        ["handover", "rig.toml", "--out", "rig.toml"],
        "rig.toml: it is a file, a folder belongs here. Name a folder.",
    ),
    (
        ["handover", "rig.toml", "--out", "rig.toml/code"],
        "rig.toml: it is a file, a folder belongs here. Name another place.",
    ),
    (
        ["report", "rig.toml", "--out", "."],
        ".: it is a folder, a file belongs here. Name a file, report.html.",
    ),
    (
        ["report", "rig.toml", "--out", "rig.toml"],
        "rig.toml: there is a file of that name. Name another; yours is kept.",
    ),
    (
        ["simulate", "rig.toml", "--out", "rig.toml"],
        "rig.toml: there is a file of that name. Name another; yours is kept.",
    ),
    (
        ["plan", "rig.toml", "--out", "rig.toml"],
        "rig.toml: there is a file of that name. Name another; yours is kept.",
    ),
    (["new", "."], "rig.toml: there is a rig file already. Name another folder; yours is kept."),
]  # fmt: skip


@pytest.mark.parametrize(("words", "said"), DATA, ids=[" ".join(words) for words, _ in DATA])
def test_wrong_data_is_answered_with_code_3_and_nothing_is_lost(
    door: Door, rover: Path, words: list[str], said: str
) -> None:
    before = {path.name: path.read_bytes() for path in rover.iterdir() if path.is_file()}
    answer = door(*words)
    assert answer.err == f"anglewright: {said}\n"
    assert (answer.code, answer.out) == (3, "")
    assert {path.name: path.read_bytes() for path in rover.iterdir() if path.is_file()} == before


def test_every_problem_of_a_rig_file_is_said_at_once(door: Door, rover: Path) -> None:
    text = (rover / "rig.toml").read_text(encoding="utf-8")
    broken = (
        text.replace("[48, 24]", "[48, -24]").replace('"3.3 V"', '"3.3 A"').replace("bits = 12", "bits = 99")
    )
    (rover / "rig.toml").write_text(broken, encoding="utf-8")
    answer = door("check", "rig.toml")
    assert answer.code == 3
    assert len(answer.err.splitlines()) == 3
    assert all(
        line.startswith("anglewright: rig.toml, axis 'shoulder', ") for line in answer.err.splitlines()
    )


def test_files_of_the_users_own_are_not_written_over(door: Door, rover: Path) -> None:
    (rover / "code").mkdir()
    (rover / "code" / "shoulder.c").write_text("/* mine */", encoding="utf-8")
    (rover / "mine.csv").write_text("reference_deg,raw\n0,1\n", encoding="utf-8")
    code, bench = (
        door("handover", "rig.toml", "--out", "code"),
        door("simulate", "rig.toml", "--out", "mine.csv"),
    )
    assert (code.code, bench.code) == (3, 3)
    assert [path.name for path in (rover / "code").iterdir()] == ["shoulder.c"]
    assert (rover / "code" / "shoulder.c").read_text(encoding="utf-8") == "/* mine */"
    assert (rover / "mine.csv").read_text(encoding="utf-8").startswith("reference_deg")


def test_files_of_the_programs_own_are_written_anew(door: Door) -> None:
    for words in (
        ["handover", "rig.toml", "--out", "code"],
        ["simulate", "rig.toml", "--out", "bench.csv"],
        ["report", "rig.toml"],
    ):
        assert [door(*words).code for _ in range(2)] == [0, 0]


@pytest.mark.parametrize(
    "words",
    [
        ["calibrate", "rig.toml", "shoulder-bench.csv"],
        ["handover", "rig.toml", "--out", "code"],
        ["report", "rig.toml", "--out", "report.html"],
        ["simulate", "rig.toml", "--out", "bench.csv"],
        ["plan", "rig.toml", "--out", "sheet.csv"],
    ],
)
def test_a_place_without_permission_is_a_sentence(
    door: Door, words: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # An administrator may write anywhere, so the refusal of the system is played.
    def refuse(path: Path, *_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr("anglewright.rigfile.storing._fill", refuse)
    answer = door(*words)
    assert answer.code == 3
    assert answer.err.endswith(
        "it cannot be written (permission denied). Name a place that you may write to.\n"
    )
    assert answer.err.count("\n") == 1


def test_a_place_without_permission_is_refused_by_the_system_itself(door: Door, rover: Path) -> None:
    locked = rover / "locked"
    locked.mkdir(mode=0o500)
    try:
        (locked / "probe").touch()
        free = True  # an administrator: the system refuses nothing, and the file must be whole
    except PermissionError:
        free = False
    answer = door("plan", "rig.toml", "--out", "locked/sheet.csv")
    assert answer.code == (0 if free else 3)
    assert ("it cannot be written (permission denied)" in answer.err) is not free
