#!/usr/bin/env python3
"""One door to the work on this checkout: the demo, the checks, the benchmarks.

Standard library only, on Linux, macOS and Windows. Everything it makes lies in `.venv/` and
`build/`, which version control ignores. Exit codes: 0 fine, 1 a check failed, 2 usage, 4 something
that this computer lacks (a newer Python, a program, a network).
"""

import argparse
import hashlib
import importlib.util
import os
import shlex
import shutil
import subprocess
import sys
import time
import webbrowser
from pathlib import Path
from typing import NamedTuple

OLDEST = (3, 11)
RUNNING = (sys.version_info[0], sys.version_info[1])


def too_old(major: int, minor: int) -> str:
    """Sentence for a Python that is too old, empty for one that will do."""
    if (major, minor) >= OLDEST:
        return ""
    return (
        f"This is Python {major}.{minor}; 3.11 or newer is needed. Install one from python.org or with "
        "your package manager, then run it by name, for example: python3.11 make.py demo"
    )


if too_old(*RUNNING):  # nothing above this line is beyond an older Python 3
    print(too_old(*RUNNING), file=sys.stderr)
    sys.exit(4)

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
ROVER = ROOT / "examples" / "rover"
QUICK_TESTS = ("tests/architecture", "tests/quantities", "tests/rigfile", "tests/test_shoulder_table.py")
PIN_FILES = {"run": ("run.txt",), "dev": ("run.txt", "dev.txt")}
PIP_INSTALL = (
    "-m",
    "pip",
    "--disable-pip-version-check",
    "-q",
    "--retries",
    "2",
    "install",
    "--no-build-isolation",
)
NETWORK_SIGNS = (
    "NewConnectionError",
    "ConnectTimeoutError",
    "ReadTimeoutError",
    "NameResolutionError",
    "ProxyError",
    "Temporary failure in name resolution",
    "No matching distribution found",
)
NO_VENV_REMEDY = "On Debian and Ubuntu: apt install python3-venv. Elsewhere: use a Python from python.org."


class MakeError(Exception):
    """Something that stops the work: a sentence with the remedy, and the exit code."""

    def __init__(self, sentence: str, *, code: int = 4) -> None:
        """Keep the sentence and the exit code."""
        super().__init__(sentence)
        self.code = code


class Program(NamedTuple):
    """A program outside Python that some tests drive."""

    name: str
    command: str
    package: str
    purpose: str


PROGRAMS = (
    Program("ngspice", "ngspice", "ngspice", "compares the circuits with an independent simulator"),
    Program("chromium", "chromium", "chromium", "opens the report as a reader would"),
    Program("gcc", "gcc", "gcc", "compiles the handed-over C"),
    Program("poppler", "pdftotext", "poppler-utils", "reads the printed report"),
)


def in_venv(name: str) -> Path:
    """Path of a program installed in the environment."""
    if os.name == "nt":
        return VENV / "Scripts" / f"{name}.exe"
    return VENV / "bin" / name


def child_env() -> dict[str, str]:
    """Environment of the programs started here, without settings that would leak another Python in."""
    leaks = ("PYTHONHOME", "PYTHONPATH", "VIRTUAL_ENV", "PIP_USER", "PIP_REQUIRE_VIRTUALENV")
    kept = {name: value for name, value in os.environ.items() if name not in leaks}
    return {**kept, "PYTHONUTF8": "1"}


def stamp_of(pins: str) -> str:
    """Fingerprint of all that an installation depends on."""
    digest = hashlib.sha256(f"{ROOT}|{RUNNING}".encode())
    for path in (ROOT / "pyproject.toml", *(ROOT / "requirements" / name for name in PIN_FILES[pins])):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def is_ready(pins: str) -> bool:
    """Whether the environment already holds these pins and this checkout."""
    stamp = VENV / f"installed-{pins}"
    return in_venv("python").exists() and stamp.exists() and stamp.read_text() == stamp_of(pins)


def is_healthy() -> bool:
    """Whether the environment has a Python that starts, is new enough and has pip."""
    if not in_venv("python").exists():
        return False
    question = "import sys, pip; sys.exit(sys.version_info < (3, 11))"
    try:
        answer = subprocess.run([in_venv("python"), "-c", question], env=child_env(), capture_output=True)
    except OSError:  # a link to a Python that is no longer there, or one for another computer
        return False
    return answer.returncode == 0


def make_venv() -> None:
    """Make the environment, or make it anew where it is broken."""
    if is_healthy():
        return
    for module in ("venv", "ensurepip"):
        if importlib.util.find_spec(module) is None:
            raise MakeError(f"{sys.executable} has no module '{module}'. {NO_VENV_REMEDY}")
    print(f"Making {VENV}", flush=True)
    made = subprocess.run(
        [sys.executable, "-m", "venv", "--clear", VENV], env=child_env(), capture_output=True, text=True
    )
    if made.returncode:
        words = last_line(made.stderr + made.stdout)
        raise MakeError(f"{sys.executable} could not make {VENV}: {words} {NO_VENV_REMEDY}")


def last_line(text: str) -> str:
    """Last line that names an error, else the last that says something."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    errors = [line for line in lines if "Error: " in line or line.startswith("ERROR: ")]
    return (errors or lines or ["no reason was given."])[-1]


def why_pip_failed(words: str, *, what: str) -> str:
    """Sentence and remedy for what pip said."""
    if "DO NOT MATCH THE HASHES" in words:
        return (
            f"A package of {what} is not the one that was pinned, so nothing of it was installed. "
            "Try another network or mirror; if it persists, renew the pins as CONTRIBUTING.md says."
        )
    if any(sign in words for sign in NETWORK_SIGNS):
        return (
            f"The packages of {what} could not be fetched. They are needed once: connect to a network and "
            "run this again, or name a folder of wheels with PIP_NO_INDEX=1 and PIP_FIND_LINKS=FOLDER."
        )
    return f"{what} could not be installed: {last_line(words)}"


def pip(arguments: list[str], *, what: str) -> None:
    """Run pip in the environment; where it fails say why in one sentence."""
    done = subprocess.run(
        [in_venv("python"), *PIP_INSTALL, *arguments],
        env=child_env(),
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    if done.returncode:
        raise MakeError(why_pip_failed(done.stdout + done.stderr, what=what))


def set_up(pins: str) -> None:
    """Bring the environment to the pins; does nothing, in silence, where it is there already."""
    if is_ready(pins):
        return
    make_venv()
    for name in PIN_FILES[pins]:
        print(f"Installing requirements/{name}", flush=True)
        pip(["--require-hashes", "-r", f"requirements/{name}"], what=f"requirements/{name}")
    pip(["--no-deps", "-e", "."], what="Anglewright itself")
    for kind in PIN_FILES:  # the larger set holds the smaller
        if set(PIN_FILES[kind]) <= set(PIN_FILES[pins]):
            (VENV / f"installed-{kind}").write_text(stamp_of(kind))


def missing_programs(without: set[str]) -> list[Program]:
    """Programs that are neither installed nor waived."""
    return [each for each in PROGRAMS if each.name not in without and shutil.which(each.command) is None]


def may_install() -> bool:
    """Whether this user can install packages of a Debian-like system."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get") is not None


def install_programs(programs: list[Program]) -> None:
    """Install programs with apt-get; what does not come is found missing afterwards."""
    names = [each.package for each in programs]
    print(f"Installing {', '.join(names)} with apt-get", flush=True)
    env = {**child_env(), "DEBIAN_FRONTEND": "noninteractive"}
    for command in (["update"], ["install", "--yes", "--no-install-recommends", *names]):
        subprocess.run(["apt-get", "--quiet", "--quiet", *command], env=env, capture_output=True)


def need_programs(without: set[str]) -> None:
    """Make sure of the programs that the tests drive, or say what is missing and the remedy."""
    missing = missing_programs(without)
    if missing and may_install():
        install_programs(missing)
        missing = missing_programs(without)
    if missing:
        raise MakeError("\n".join(lacks(each) for each in missing))


def lacks(program: Program) -> str:
    """Sentence for a program that is missing."""
    return (
        f"The program '{program.command}' is missing; it {program.purpose}. Install it (on Debian and "
        f"Ubuntu: apt install {program.package}), or leave its tests out: "
        f"python3 make.py test --without {program.name}"
    )


def checks(pytest_arguments: list[str]) -> list[tuple[str, list[str]]]:
    """All checks in order: the quick ones first."""
    python = str(in_venv("python"))
    return [
        ("ruff check", [str(in_venv("ruff")), "check", "--quiet", "--output-format", "concise"]),
        ("ruff format", [str(in_venv("ruff")), "format", "--check", "--output-format", "concise"]),
        ("mypy", [python, "-m", "mypy", "--no-error-summary"]),
        ("import contract", [str(in_venv("lint-imports"))]),
        ("pytest", [python, "-m", "pytest", "-q", "-n", "auto", *pytest_arguments]),
    ]


def run_check(name: str, command: list[str], *, env: dict[str, str]) -> bool:
    """Run one check; pytest speaks as it goes, the others only when they object."""
    begun = time.monotonic()
    done = subprocess.run(command, cwd=ROOT, env=env, capture_output=name != "pytest", text=True)
    if done.returncode and name != "pytest":
        print(done.stdout, done.stderr, sep="", end="", flush=True)
    verdict = "passed" if done.returncode == 0 else "FAILED"
    print(f"{name}: {verdict} in {time.monotonic() - begun:.1f} s", flush=True)
    return done.returncode == 0


def run_checks(commands: list[tuple[str, list[str]]], *, env: dict[str, str]) -> int:
    """Run every check, whatever the ones before it said; 1 where any failed."""
    failed = [name for name, command in commands if not run_check(name, command, env=env)]
    print("All checks passed." if not failed else f"Failed: {', '.join(failed)}.")
    return 1 if failed else 0


def do_test(arguments: argparse.Namespace) -> int:
    """All checks, as they run before a change is taken in."""
    without = set(arguments.without)
    set_up("dev")
    need_programs(without)
    env = {**child_env(), "ANGLEWRIGHT_WITHOUT": ",".join(sorted(without))}
    env["ANGLEWRIGHT_LONG"] = "1" if arguments.long else ""
    return run_checks(checks([]), env=env)


def do_quick(arguments: argparse.Namespace) -> int:
    """The checks that fit in half a minute; leaves out what this computer cannot run, and says so."""
    set_up("dev")
    without = sorted(each.name for each in missing_programs(set()))
    if without:
        print(f"Left out, because the program is not installed: {', '.join(without)}.")
    env = {**child_env(), "ANGLEWRIGHT_WITHOUT": ",".join(without), "ANGLEWRIGHT_LONG": ""}
    chosen = checks(["-m", "not slow", *QUICK_TESTS])
    print("Left to `test`: every test outside " + ", ".join(QUICK_TESTS) + ".")
    return run_checks([each for each in chosen if each[0] != "import contract"], env=env)


def do_bench(arguments: argparse.Namespace) -> int:
    """Every benchmark in turn."""
    set_up("run")
    for path in sorted((ROOT / "benchmarks").glob("*.py")):
        done = subprocess.run([in_venv("python"), path], cwd=ROOT, env=child_env())
        if done.returncode:
            return 1
    return 0


def demo_commands(text: str) -> list[list[str]]:
    """The commands of a walk-through: the lines of its ```sh blocks that begin with the program."""
    lines: list[str] = []
    inside = False
    for line in text.splitlines():
        if line.startswith("```"):
            inside = line.strip() == "```sh"
        elif inside and line.startswith("anglewright "):
            lines.append(line)
    return [shlex.split(line, comments=True) for line in lines]


def report_of(commands: list[list[str]]) -> str:
    """Name of the report that the walk-through writes."""
    for command in reversed(commands):
        if command[1] == "report" and "--out" in command[:-1]:
            return command[command.index("--out") + 1]
    raise MakeError(
        "examples/rover/README.md has no `anglewright report ... --out FILE`: nothing to show.", code=1
    )


def run_demo(command: list[str], *, folder: Path) -> str:
    """Run one command of the walk-through in the copy; 1 is an answer too (a need that is not met)."""
    print(f"$ {shlex.join(command)}", flush=True)
    done = subprocess.run(
        [in_venv(command[0]), *command[1:]],
        cwd=folder,
        env=child_env(),
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    if done.returncode > 1 or (done.returncode == 1 and not done.stdout):
        raise MakeError(f"The command ended with code {done.returncode}: {done.stderr.strip()}", code=1)
    return done.stdout


def do_demo(arguments: argparse.Namespace) -> int:
    """The main job on a copy of the rover: simulated bench, calibration, report."""
    set_up("run")
    folder = ROOT / "build" / "rover"
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(ROVER, folder)
    commands = demo_commands((ROVER / "README.md").read_text(encoding="utf-8"))
    report = folder / report_of(commands)
    said = [run_demo(command, folder=folder) for command in commands]
    print(f"\nThe report: {report}\n\n{said[-1].rstrip()}")
    if arguments.open:
        webbrowser.open(report.as_uri())
    return 0


def command_line() -> argparse.ArgumentParser:
    """The commands and their options."""
    parser = argparse.ArgumentParser(prog="make.py", description="The work on this checkout.")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    demo = commands.add_parser("demo", help="the main job on a copy of the example rover, under build/")
    demo.add_argument("--open", action="store_true", help="show the report in the browser")
    demo.set_defaults(work=do_demo)
    test = commands.add_parser("test", help="all checks")
    test.add_argument("--long", action="store_true", help="the statistical and fuzz proofs in full")
    test.add_argument(
        "--without",
        action="append",
        default=[],
        choices=[each.name for each in PROGRAMS],
        help="leave out the tests that drive this program; may be repeated",
    )
    test.set_defaults(work=do_test)
    quick = commands.add_parser("quick", help="the checks that fit in half a minute")
    quick.set_defaults(work=do_quick)
    bench = commands.add_parser("bench", help="the benchmarks")
    bench.set_defaults(work=do_bench)
    return parser


def main(words: list[str]) -> int:
    """Do what was asked; without a command show the help."""
    parser = command_line()
    arguments = parser.parse_args(words)
    if not hasattr(arguments, "work"):
        parser.print_help()
        return 0
    try:
        return int(arguments.work(arguments))
    except MakeError as stopped:
        print(stopped, file=sys.stderr)
        return stopped.code
    except OSError as refused:
        print(
            f"{refused.filename or 'make.py'}: {refused.strerror}. Put that right and run again.",
            file=sys.stderr,
        )
        return 4
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
