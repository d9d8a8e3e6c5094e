"""Write the pages that are built from the code: rig file, commands, findings, sources.

Run it from the checkout, ``python docs/pages.py``; a test fails where a page is stale.
"""

import argparse
from collections.abc import Iterator
from pathlib import Path

from anglewright.cli.options import COMMANDS
from anglewright.cli.parser import EPILOG, build_parser
from anglewright.jobs.comparing import FINDING_KEYS
from anglewright.jobs.readycheck import READY_KEYS
from anglewright.links.fields import (
    ChoiceKey,
    CurveKey,
    Key,
    LimitKey,
    QuantityKey,
    TeethKey,
    TurnLimitKey,
    WholeKey,
)
from anglewright.links.motion import MotionPart
from anglewright.links.protocol import flat_keys
from anglewright.quantities.units import Kind
from anglewright.review.axis import KEYS
from anglewright.rigfile.axisfile import LOOP_KEYS, NEED_KEYS, PLAN_KEYS
from anglewright.rigfile.kinds import ROOMS, USUAL, kinds_in, part_named
from anglewright.selection.buying import KEYS as BUYING_KEYS
from anglewright.sources import SOURCES
from anglewright.testsheet.faults import KEYS as SHEET_KEYS

HERE = Path(__file__).resolve().parent
BUILT = "<!-- built from the code by docs/pages.py: change it there -->\n\n"

RIG_FILE = """\
# The rig file

One TOML file describes a machine: its axes, and each axis as a chain of parts from the motion to the code.
A complete example is
[the rover's](../examples/rover/rig.toml). Every error of a file is shown together, each with its table,
key, what was found and the remedy.

**Quantities** stand in quotes, as people write them: `"10 kohm ± 20 %"`, `"10k"`, `"4k7"`, `"270 deg ± 5
deg"`, `"3600 deg +10 / -0"`,
`"0.5 in"`, `"12 bit"`, `"1.5 LSB rms"`. A tolerance is rectangular, an rms value is a standard deviation. A
decimal comma is refused.
Where a key is missing, its default stands in and is listed as assumed.

| key of `[axis.NAME]` | meaning |
|---|---|
| `motion` | see below; the unit of `from` is the unit of the axis |
| `need = { error = "1 deg" }` | maximum permissible error of the axis; more below, for `choose` |
| `stops = { low = ..., high = ... }` | where the mechanism itself ends |
| `when_unpowered` | `holds`, `sinks`, `drops` or `springs`: what the mechanism does with its motor off |
| `loop = { ... }` | crossover and sample rate of the position loop, for `check`; below |
| `marks` | places that can be found again: `pin = { at = "47.5 deg", within = "0.05 deg" }` |
| `mount.clamped_at` | the mark at which the sensor was clamped |
| `converter.raw` | what the controller shows: `counts`, `volts`, `fraction` or `turns` |
| `plan.zero_at` | the mark at which the axis is zeroed |
| `plan.reference = { ... }` | the reference's `per_point`, `shared` and `scale` errors |

At the top of the file: `rig` is the machine's name, `simulated = true` marks an invented one. Where several
machines are built to one design, `machine = "practice"` names the one that is meant unless `--machine` says
otherwise, and `[machines.practice]` may give the serial of each sensor, `shoulder = "12"`: a calibration
record belongs to one machine and one sensor.
"""


def _default(key: Key) -> str:
    if isinstance(key, QuantityKey | LimitKey | TurnLimitKey | ChoiceKey | WholeKey):
        return "" if key.default is None else f"`{key.default}`"
    return ""


def _expects(key: Key) -> str:
    if isinstance(key, ChoiceKey):
        return ", ".join(f"`{word}`" for word in key.choices)
    if isinstance(key, QuantityKey):
        words = [f"`{word}`" for word in key.words]
        return " or ".join([*(kind.value for kind in key.kinds), *words])
    if isinstance(key, WholeKey):
        return f"a whole number, {key.least} to {key.most}"
    if isinstance(key, TurnLimitKey):
        return f"a limit, {key.kind.value}"
    if isinstance(key, CurveKey):
        return 'pairs that rise, `[["0.8 V", 820], ["2.5 V", 2800]]`'
    if isinstance(key, LimitKey) and key.kind is Kind.COUNT:
        return "a limit, `2 LSB`"
    return "teeth in pairs, `[48, 24]`" if isinstance(key, TeethKey) else "a limit, `1 %`"


def _keys_table(keys: tuple[Key, ...]) -> Iterator[str]:
    yield "| key | meaning | expects | default |"
    yield "|---|---|---|---|"
    for name, key in flat_keys(keys):
        yield f"| `{name}` | {key.meaning} | {_expects(key)} | {_default(key)} |"


def rig_file() -> str:
    """The page of the rig file."""
    lines = [
        RIG_FILE,
        "## motion",
        "",
        *_keys_table(MotionPart.KEYS),
        "",
        "## need",
        "",
        *_keys_table(NEED_KEYS),
        "",
        "## loop",
        "",
        *_keys_table(LOOP_KEYS),
        "",
        "## plan",
        "",
        *_keys_table(PLAN_KEYS),
        "",
    ]
    for room in ROOMS:
        for kind in kinds_in(room):
            part = part_named(room, kind)
            usual = " (the usual kind)" if USUAL[room] == kind else ""
            summary = (part.__doc__ or "").splitlines()[0]
            lines += [f'## {room}, `kind = "{kind}"`{usual}', "", summary, ""]
            lines += [*_keys_table(part.KEYS), ""] if part.KEYS else []
    return "\n".join(lines)


def commands() -> str:
    """The page of the commands, from their own help."""
    parser = build_parser()
    inner = next(each for each in parser._actions if isinstance(each, argparse._SubParsersAction))
    lines = ["# Commands", "", "```text", EPILOG.strip(), "```", ""]
    for name in COMMANDS:
        helped = inner.choices[name]
        helped.formatter_class = lambda prog: argparse.HelpFormatter(prog, width=100)
        lines += [f"## {name}", "", "```text", helped.format_help().strip(), "```", ""]
    return "\n".join(lines)


def findings() -> str:
    """The page of the findings."""
    lines = [
        "# Findings",
        "",
        "Severities are stop, caution and note. `check`, `calibrate`, `verify`, `ready`, `choose` and "
        "`testsheet` speak them.",
        "",
    ]
    keys = {**KEYS, **FINDING_KEYS, **BUYING_KEYS, **SHEET_KEYS, **READY_KEYS}
    lines += ["| key | meaning |", "|---|---|"]
    lines += [f"| `{key}` | {meaning} |" for key, meaning in sorted(keys.items())]
    return "\n".join([*lines, ""])


def sources() -> str:
    """The page of the sources."""
    lines = ["# Sources", "", "Where each formula and number comes from. What is from memory is a debt.", ""]
    lines += ["| key | source | kind |", "|---|---|---|"]
    for key, source in sorted(SOURCES.items()):
        cited = ", ".join(part for part in (source.title, source.edition, source.clause) if part)
        lines.append(f"| `{key}` | {cited} | {source.kind.value} |")
    return "\n".join([*lines, ""])


PAGES = {"rig-file.md": rig_file, "commands.md": commands, "findings.md": findings, "sources.md": sources}


def main() -> None:
    """Write every page."""
    for name, page in PAGES.items():
        (HERE / name).write_text(BUILT + page(), encoding="utf-8")


if __name__ == "__main__":
    main()
