"""`make.py`: what it says when this computer cannot do what is asked, and what it does."""

import ast
import importlib.util
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

WALK_THROUGH = """
Text with `anglewright budget` in a line.

```sh
# first the bench
anglewright simulate rig.toml --out "bench run.csv"
anglewright report rig.toml --out report.html   # the result
```

```text
anglewright is not run here
```
"""


@pytest.fixture
def make(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The script as a module, working on an empty folder instead of this checkout."""
    spec = importlib.util.spec_from_file_location("make", root / "make.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    (tmp_path / "requirements").mkdir()
    for name in ("pyproject.toml", "requirements/run.txt", "requirements/dev.txt"):
        (tmp_path / name).write_text(name)
    monkeypatch.setattr(module, "ROOT", tmp_path)
    monkeypatch.setattr(module, "VENV", tmp_path / ".venv")
    return module


def script(root: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run the script itself."""
    command = [sys.executable, str(root / "make.py"), *words]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_alone_it_shows_its_commands(root: Path) -> None:
    done = script(root)
    assert done.returncode == 0
    assert [name in done.stdout for name in ("demo", "test", "quick", "bench")] == [True] * 4


@pytest.mark.parametrize("words", [["fly"], ["test", "--without", "wings"]])
def test_an_unknown_word_is_a_fault_of_usage(root: Path, words: list[str]) -> None:
    assert script(root, *words).returncode == 2


def test_it_uses_nothing_but_the_standard_library(root: Path) -> None:
    tree = ast.parse((root / "make.py").read_text(encoding="utf-8"))
    names = {each.name for node in ast.walk(tree) if isinstance(node, ast.Import) for each in node.names}
    names |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert {name.partition(".")[0] for name in names} <= set(sys.stdlib_module_names)


def test_an_older_python_can_read_it_and_is_told_what_to_do(root: Path) -> None:
    text = (root / "make.py").read_text(encoding="utf-8")
    ast.parse(text, feature_version=(3, 7))
    pretend = "import sys\nsys.version_info = (3, 8, 10, 'final', 0)\nsys.argv = ['make.py', 'demo']\n"
    program = f"{pretend}exec(compile(open({str(root / 'make.py')!r}).read(), 'make.py', 'exec'))"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.returncode == 4
    assert done.stderr == (
        "This is Python 3.8; 3.11 or newer is needed. Install one from python.org or with "
        "your package manager, then run it by name, for example: python3.11 make.py demo\n"
    )


@pytest.mark.parametrize("version", [(3, 11), (3, 14), (4, 0)])
def test_a_python_that_will_do_is_not_refused(make: ModuleType, version: tuple[int, int]) -> None:
    assert make.too_old(*version) == ""


@pytest.mark.parametrize("lacking", ["venv", "ensurepip"])
def test_a_python_without_venv_is_told_what_to_install(
    make: ModuleType, lacking: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    real: Callable[[str], object] = importlib.util.find_spec
    monkeypatch.setattr(
        make.importlib.util, "find_spec", lambda name: None if name == lacking else real(name)
    )
    assert make.main(["demo"]) == 4
    assert capsys.readouterr().err == (
        f"{sys.executable} has no module '{lacking}'. On Debian and Ubuntu: apt install python3-venv. "
        "Elsewhere: use a Python from python.org.\n"
    )


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (  # as pip 23.2 speaks without a network
            "WARNING: Retrying (Retry(total=4)) after connection broken by 'NewConnectionError(...)'\n"
            "ERROR: No matching distribution found for jinja2==3.1.6",
            "The packages of requirements/run.txt could not be fetched. They are needed once: connect to a "
            "network and run this again, or name a folder of wheels with PIP_NO_INDEX=1 and "
            "PIP_FIND_LINKS=FOLDER.",
        ),
        (  # as pip 23.2 speaks of a package that was tampered with
            "ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.",
            "A package of requirements/run.txt is not the one that was pinned, so nothing of it was "
            "installed. Try another network or mirror; if it persists, renew the pins as "
            "CONTRIBUTING.md says.",
        ),
        (
            "ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device\n\n",
            "requirements/run.txt could not be installed: ERROR: Could not install packages due to an "
            "OSError: [Errno 28] No space left on device",
        ),
        (
            "  ModuleNotFoundError: No module named 'x'\n  [end of output]\nhint: See above for details.",
            "requirements/run.txt could not be installed: ModuleNotFoundError: No module named 'x'",
        ),
        ("", "requirements/run.txt could not be installed: no reason was given."),
    ],
)
def test_a_failed_installation_is_told_with_its_remedy(make: ModuleType, words: str, sentence: str) -> None:
    assert make.why_pip_failed(words, what="requirements/run.txt") == sentence


def test_a_missing_program_is_named_with_its_remedy(
    make: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(make, "set_up", lambda pins: None)
    monkeypatch.setattr(make, "may_install", lambda: False)
    monkeypatch.setattr(make.shutil, "which", lambda name: None if name == "ngspice" else name)
    assert make.main(["test"]) == 4
    assert capsys.readouterr().err == (
        "The program 'ngspice' is missing; it compares the circuits with an independent simulator. Install "
        "it (on Debian and Ubuntu: apt install ngspice), or leave its tests out: "
        "python3 make.py test --without ngspice\n"
    )


def test_a_waived_program_is_not_missed(make: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(make.shutil, "which", lambda name: None)
    assert [each.name for each in make.missing_programs({"gcc", "chromium"})] == ["ngspice", "poppler"]


def test_what_is_installed_is_not_installed_again(
    make: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    calls: list[str] = []
    monkeypatch.setattr(make, "make_venv", lambda: None)
    monkeypatch.setattr(make, "pip", lambda arguments, *, what: calls.append(what))
    make.in_venv("python").parent.mkdir(parents=True)
    make.in_venv("python").touch()
    make.set_up("dev")
    capsys.readouterr()
    first = list(calls)
    make.set_up("dev")
    make.set_up("run")
    assert first == ["requirements/run.txt", "requirements/dev.txt", "Anglewright itself"]
    assert calls == first
    assert capsys.readouterr().out == ""
    (make.ROOT / "requirements" / "dev.txt").write_text("another pin")
    assert (make.is_ready("run"), make.is_ready("dev")) == (True, False)


def test_the_demo_follows_the_walk_through_of_the_example(make: ModuleType) -> None:
    commands = make.demo_commands(WALK_THROUGH)
    assert commands == [
        ["anglewright", "simulate", "rig.toml", "--out", "bench run.csv"],
        ["anglewright", "report", "rig.toml", "--out", "report.html"],
    ]
    assert make.report_of(commands) == "report.html"


def test_a_walk_through_without_a_report_is_refused(make: ModuleType) -> None:
    with pytest.raises(make.MakeError, match="has no `anglewright report"):
        make.report_of([["anglewright", "check", "rig.toml"]])


def test_every_check_runs_although_one_fails(make: ModuleType, capsys: pytest.CaptureFixture[str]) -> None:
    def check(name: str, code: int) -> tuple[str, list[str]]:
        return name, [sys.executable, "-c", f"print('{name} spoke'); raise SystemExit({code})"]

    assert make.run_checks([check("one", 1), check("two", 0), check("three", 1)], env={}) == 1
    said = capsys.readouterr().out
    assert ("one spoke" in said, "two spoke" in said, "three spoke" in said) == (True, False, True)
    assert said.endswith("Failed: one, three.\n")


def test_a_folder_that_cannot_be_written_is_named(
    make: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(pins: str) -> None:
        raise PermissionError(13, "Permission denied", "build/rover")

    monkeypatch.setattr(make, "set_up", refuse)
    assert make.main(["demo"]) == 4
    assert capsys.readouterr().err == "build/rover: Permission denied. Put that right and run again.\n"
