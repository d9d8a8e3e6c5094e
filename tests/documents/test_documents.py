"""Every command and program shown in the documents runs, and every command is shown.

Blocks marked `sh` or `console` run line by line, blocks marked `python` as a whole, all in order in one
copy of the example rover per document. In a `console` block the lines that begin with `$ ` are commands
and the rest is what they answer, which is not compared. Each must end with code 0, or with the code
that a comment `<!-- exits: 1 -->` before the block allows; at least one command must then use it.
Commands for `make.py` are read by its own parser instead of run: it runs these tests.
"""

import importlib.util
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FENCE = re.compile(r"^ *```")
OPENING = re.compile(r"^ *```(\w+)")
EXITS = re.compile(r"<!-- exits: (\d+) -->")
RUN = ("sh", "console", "python")
SHOWN_ONLY = ("git clone ", "cd ", ". .venv/bin/activate", r".venv\Scripts\activate")
MAKE = re.compile(r"^python3? make\.py\b *(.*)$")


@dataclass(frozen=True, slots=True)
class Block:
    """One block of a document: where it begins, its language, its text and the code it may end with."""

    line: int
    language: str
    text: str
    may_exit: int = 0

    @property
    def commands(self) -> list[str]:
        """Commands of a shell block, continued lines joined, comments and answers left out."""
        lines = re.sub(r"\\\n\s*", " ", self.text).splitlines()
        if self.language == "console":
            lines = [line.removeprefix("$ ") for line in lines if line.startswith("$ ")]
        return [line.strip() for line in lines if line.strip() and not line.lstrip().startswith("#")]


def blocks(text: str) -> Iterator[Block]:
    """Every block of a document that is to be run."""
    opened: tuple[int, str] | None = None
    inside: list[str] = []
    may_exit = 0
    for number, line in enumerate(text.splitlines(), start=1):
        if opened and FENCE.match(line):
            if opened[1] in RUN:
                yield Block(*opened, "\n".join(inside), may_exit)
            opened, inside, may_exit = None, [], 0
        elif opened:
            inside.append(line)
        elif FENCE.match(line):
            start = OPENING.match(line)
            opened = (number, start[1] if start else "")
        elif marked := EXITS.search(line):
            may_exit = int(marked[1])


def documents(root: Path) -> list[Path]:
    """README, the example's README and everything under docs."""
    return [
        root / "README.md",
        *sorted((root / "examples").rglob("*.md")),
        *sorted((root / "docs").rglob("*.md")),
    ]


def read(path: Path) -> str:
    """Text of a document; a missing one fails with a sentence."""
    if not path.exists():
        pytest.fail(f"There is no {path.name}: it has to open with the job and the two commands.")
    return path.read_text(encoding="utf-8")


def make_accepts(words: str) -> bool:
    """Whether make.py knows a command line, found out by its own parser without running it."""
    spec = importlib.util.spec_from_file_location("make", ROOT / "make.py")
    assert spec
    assert spec.loader
    make = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(make)
    try:
        make.command_line().parse_args(words.split())
    except SystemExit:
        return False
    return True


def run(command: list[str] | str, folder: Path, env: dict[str, str]) -> tuple[int, str]:
    """Exit code of a command, and what it said."""
    done = subprocess.run(
        command,
        shell=isinstance(command, str),
        cwd=folder,
        env=env,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


def run_shell(block: Block, folder: Path, env: dict[str, str]) -> Iterator[str]:
    """Run the commands of a block; yield what went wrong."""
    codes = []
    for command in block.commands:
        if made := MAKE.match(command):
            if not make_accepts(made[1]):
                yield f"line {block.line}: make.py does not know `{command}`"
        elif not command.startswith(SHOWN_ONLY):
            code, said = run(command, folder, env)
            codes.append(code)
            if code not in (0, block.may_exit) or "Traceback (most recent" in said:
                yield f"line {block.line}: `{command}` ended with {code}\n{said}"
    if block.may_exit not in (0, *codes):
        yield f"line {block.line}: nothing ended with {block.may_exit}"


def run_python(block: Block, folder: Path, env: dict[str, str]) -> Iterator[str]:
    """Run a program, or a session with prompts; yield what went wrong."""
    path = folder / "block.txt"
    path.write_text(block.text + "\n", encoding="utf-8")
    doctest = ["-m", "doctest", "-o", "ELLIPSIS", "-o", "NORMALIZE_WHITESPACE"]
    code, said = run([sys.executable, *(doctest if ">>> " in block.text else []), str(path)], folder, env)
    path.unlink()
    if code != block.may_exit:
        yield f"line {block.line}: the program ended with {code}\n{said}"


def faults(text: str, folder: Path, env: dict[str, str]) -> list[str]:
    """What went wrong in a document."""
    work = {"python": run_python, "sh": run_shell, "console": run_shell}
    return [fault for block in blocks(text) for fault in work[block.language](block, folder, env)]


def commands_of(help_text: str) -> list[str]:
    """Names of the commands in the program's help: the first words of its indented entries."""
    listing, _, _ = help_text.partition("\noptions:\n")
    return re.findall(r"^ {2,6}([a-z][a-z-]*)(?: {2,}|$)", listing, re.MULTILINE)


@pytest.mark.slow
@pytest.mark.parametrize("path", documents(ROOT), ids=lambda path: path.relative_to(ROOT).as_posix())
def test_every_block_runs(path: Path, rover: Path, shell_env: dict[str, str]) -> None:
    found = faults(read(path), rover, shell_env)
    assert not found, "\n".join(found)


def test_every_command_is_shown_in_the_documents(rover: Path, shell_env: dict[str, str]) -> None:
    code, said = run([sys.executable, "-m", "anglewright", "--help"], rover, shell_env)
    assert code == 0
    names = commands_of(said)
    assert len(names) >= 5, said
    shown = "\n".join(read(path) for path in documents(ROOT))
    assert [name for name in names if not re.search(rf"anglewright {name}\b", shown)] == []


SAMPLE = r"""
```sh
# a remark
echo one \
    two
```
<!-- exits: 3 -->
```console
$ python -c "raise SystemExit(3)"
an answer
```
```toml
not = "run"
```
```python
>>> 1 + 1
2
```
"""


def test_blocks_are_found_with_language_line_and_code() -> None:
    found = [(each.line, each.language, each.may_exit) for each in blocks(SAMPLE)]
    assert found == [(2, "sh", 0), (8, "console", 3), (15, "python", 0)]  # counted by hand


def test_commands_are_joined_and_stripped_of_answers() -> None:
    first, second, _ = blocks(SAMPLE)
    assert first.commands == ["echo one  two"]
    assert second.commands == ['python -c "raise SystemExit(3)"']


def test_a_document_in_order_passes(tmp_path: Path, shell_env: dict[str, str]) -> None:
    assert faults(SAMPLE, tmp_path, shell_env) == []


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (
            "```sh\npython -c 'raise SystemExit(2)'\n```",
            "line 1: `python -c 'raise SystemExit(2)'` ended with 2\n",
        ),
        ("<!-- exits: 1 -->\n```sh\npython -c 'pass'\n```", "line 2: nothing ended with 1"),
        ("```sh\npython3 make.py fly\n```", "line 1: make.py does not know `python3 make.py fly`"),
        ("```python\nraise SystemExit(4)\n```", "line 1: the program ended with 4\n"),
    ],
)
def test_a_block_that_fails_is_caught(
    text: str, fault: str, tmp_path: Path, shell_env: dict[str, str]
) -> None:
    assert faults(text, tmp_path, shell_env) == [fault]


def test_a_traceback_is_no_answer_although_its_code_is_allowed(
    tmp_path: Path, shell_env: dict[str, str]
) -> None:
    (fault,) = faults("<!-- exits: 1 -->\n```sh\npython -c '1/0'\n```", tmp_path, shell_env)
    assert fault.startswith("line 2: `python -c '1/0'` ended with 1")


def test_a_wrong_answer_in_a_session_is_caught(tmp_path: Path, shell_env: dict[str, str]) -> None:
    (fault,) = faults("```python\n>>> 1 + 1\n3\n```", tmp_path, shell_env)
    assert fault.startswith("line 1: the program ended with 1")


def test_a_missing_document_fails_with_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(pytest.fail.Exception, match=r"There is no README\.md"):
        read(tmp_path / "README.md")


def test_commands_are_read_from_the_help() -> None:
    said = "usage: x\n\ncommands:\n  budget   shares\n  check    findings\n\noptions:\n  --json   JSON\n"
    assert commands_of(said) == ["budget", "check"]
