"""200 random rigs drawn and measured in Chromium: no label over another, over a symbol, or off its sheet.

Measured twice: in the faces that the report brings, and in DejaVu Sans, which is wider than any of those
that may stand in for them in a file of its own.
"""

import random
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from anglewright.jobs.drawing import dial_of, schematic_of
from anglewright.report.dial import draw_dial
from anglewright.report.html import render_html
from anglewright.report.schematic import Schematic, Stage, draw_schematic
from anglewright.rig import Rig
from anglewright.rigfile.reading import build_rig
from anglewright.selection.mounting import mounting_at

pytestmark = pytest.mark.slow

RIGS, KINDS, SEED = 200, 6, 20310512
NAMES = (
    "stow",
    "pin",
    "upper rest of the long arm",
    "A",
    "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW",
    "Ω-Halt",
    "棚",
)

# Boxes of texts that cross each other, a symbol, or the edge of their drawing; in px, half a pixel forgiven.
# The wire of a signal counts as a symbol: it lies flat.
CROSSING = """() => {
  const found = [], SYMBOLS = 'rect.part,rect.track,path.part,path.bar,path.signal[d*="H"]';
  const meet = (a, b) => a.left < b.right - .5 && b.left < a.right - .5 && a.top < b.bottom - .5
    && b.top < a.bottom - .5;
  const within = (a, b) => a.left >= b.left - .5 && a.right <= b.right + .5 && a.top >= b.top - .5
    && a.bottom <= b.bottom + .5;
  for (const svg of document.querySelectorAll('svg.draft')) {
    const sheet = svg.getBoundingClientRect(), title = svg.querySelector('title').textContent;
    const texts = [...svg.querySelectorAll('text')].map(t => [t.textContent, t.getBoundingClientRect()]);
    const parts = [...svg.querySelectorAll(SYMBOLS)]
      .map(part => part.getBoundingClientRect());
    texts.forEach(([text, box], rank) => {
      if (!within(box, sheet)) found.push(`${title}: '${text}' leaves the sheet`);
      for (const [other, beside] of texts.slice(rank + 1))
        if (meet(box, beside)) found.push(`${title}: '${text}' over '${other}'`);
      for (const part of parts)
        if (meet(box, part) && !within(box, part)) found.push(`${title}: '${text}' over a symbol`);
    });
  }
  return found;
}"""


def maybe(chance: random.Random, **given: Any) -> dict[str, Any]:
    """Each key or not, by chance."""
    return {key: value for key, value in given.items() if chance.random() < 0.5}


def track(chance: random.Random) -> tuple[dict[str, Any], float]:
    """A potentiometer and its electrical travel in degrees."""
    travel, stops = chance.choice(
        [(270, "300 deg ± 5 deg"), (340, "endless"), (3600, "3640 deg"), (1080, "1100 deg")]
    )
    sensor = {
        "kind": "potentiometer",
        "track": chance.choice(["10 kohm ± 20 %", "4.7 kohm ± 10 %", "100 kohm"]),
        "electrical_travel": f"{travel} deg ± 5 deg",
        "mechanical_travel": stops,
    }
    return sensor, float(travel)


def wiring(chance: random.Random) -> dict[str, Any]:
    """A circuit of whatever parts chance puts there."""
    table: dict[str, Any] = {
        "feed": chance.choice(["3.3 V", "5 V ± 5 %", "4.987 V ± 12.3 mV"]),
        "series": chance.choice(["0 ohm", "470 ohm ± 5 %", "1 kohm"]),
        "capacitor": chance.choice(["0 nF", "100 nF ± 10 %", "4.7 uF"]),
    }
    pull = maybe(chance, down="100 kohm ± 1 %", up="220 kohm", own="40 kohm ± 15 kohm")
    if "own" in pull:
        pull |= maybe(chance, own_to=chance.choice(["0 V", "2.5 V ± 1 %"]))
    pull |= {"at": chance.choice(["lead", "pin"])} if "down" in pull or "up" in pull else {}
    lead = maybe(chance, length=chance.choice(["0.4 m", "12.75 m ± 5 cm"]), wiper="2.345 ohm", feed="0.1 ohm")
    table |= {"pull": pull} if pull else {}
    table |= {"lead": lead} if lead else {}
    table |= maybe(chance, divider={"upper": "10 kohm ± 1 %", "lower": "20 kohm ± 1 %"}, ground_offset="5 mV")
    return table


def marks(chance: random.Random, low: float, high: float) -> Iterator[tuple[str, dict[str, str]]]:
    """A few marks over the range, some close together or at its ends."""
    places = [low, high, (low + high) / 2, (low + high) / 2 + 0.3, low + 0.1]
    places += [chance.uniform(low, high) for _ in range(2)]
    for name in chance.sample(NAMES, chance.randint(1, len(NAMES))):
        yield name, {"at": f"{chance.choice(places):.2f} deg", "within": "0.1 deg", "how": "a pin"}


def random_axis(chance: random.Random) -> dict[str, Any]:
    """One axis whose motion fits its track."""
    sensor, travel = track(chance)
    ratio = chance.choice([(24, 24), (48, 24), (20, 60)])
    span = travel * chance.uniform(0.2, 0.8) * ratio[1] / ratio[0]
    low = chance.uniform(-span, 0.0)
    over = chance.uniform(0.0, 0.1) * span
    named = dict(marks(chance, low, low + span))
    clamped = chance.choice(list(named))
    at = float(named[clamped]["at"].split()[0])
    output = chance.choice(["rises", "falls"])
    before = (at - low) if output == "rises" else (low + span - at)
    reading = 100.0 * (0.1 + before * ratio[0] / ratio[1] / travel)
    return {
        "motion": {
            "from": f"{low} deg",
            "to": f"{low + span} deg",
            "positive": chance.choice(["up", "clockwise"]),
        },
        "need": {"error": "1 deg"},
        "stops": {"low": f"{low - over} deg", "high": f"{low + span + over} deg"},
        "when_unpowered": chance.choice(["holds", "sinks", "drops", "springs"]),
        "marks": named,
        "drive": {"gears": list(ratio)},
        "coupling": {"kind": "d-bore", "play": "3 deg"},
        "sensor": sensor,
        "mount": {"clamped_at": clamped, "reading": f"{reading} %", "output": output},
        "wiring": wiring(chance),
        "converter": {
            "bits": chance.choice([10, 12, 16]),
            "reference": chance.choice(["feed", "3.3 V ± 1 %"]),
        },
        "plan": {"zero_at": clamped},
    }


def random_rig(seed: int) -> Rig:
    """A rig of one axis; the axis is named after its seed, to be found again."""
    document: dict[str, Any] = {
        "rig": "chance",
        "axis": {f"axis-{seed}": random_axis(random.Random(seed))},
    }
    return build_rig(document, source="chance.toml")


def other_kinds() -> Rig:
    """An axis for each kind of sensor that is no potentiometer."""
    drive = {"gears": [24, 24]}
    axes = {
        "magnetic": ({"kind": "magnetic"}, {}, 60.0),
        "pulse-width": ({"kind": "pulse-width"}, {}, 60.0),
        "serial": ({"kind": "serial"}, {"output": "falls"}, 60.0),
        "incremental": ({"kind": "incremental", "lines": 100}, {"kind": "homed"}, 3000.0),
        "indexed": ({"kind": "incremental", "lines": 100, "index": "yes"}, {"kind": "homed"}, 3000.0),
        "pair": (
            {"kind": "gear-pair", "driving_teeth": 32, "first_teeth": 17, "second_teeth": 16},
            {},
            700.0,
        ),
    }
    tables = {
        name: {
            "motion": {"from": f"-{reach} deg", "to": f"{reach} deg"},
            "need": {"error": "5 deg", "homing": "allowed"},
            "when_unpowered": "holds",
            "marks": {"a": {"at": "0 deg"}, "b": {"at": f"{reach} deg"}},
            "drive": drive,
            "sensor": sensor,
            "mount": {"clamped_at": "a", **mount},
            "plan": {"zero_at": "a"},
        }
        for name, (sensor, mount, reach) in axes.items()
    }
    return build_rig({"rig": "kinds", "axis": tables}, source="kinds.toml")


def crowded(plan: Schematic) -> Schematic:
    """The same signals with everything in and on each of them that a circuit can hold."""
    stages = (
        Stage(series=("divider, upper", "10 kohm ± 100 ohm")),
        Stage(up=("pull-up", "220 kohm ± 11 kohm"), down=("pull-down", "100 kohm")),
        Stage(capacitor=("capacitor", "100 nF ± 10 nF")),
    )
    own = Stage(up=("own pull, left on", "40 kohm ± 15 kohm to 2.5 V ± 25 mV"), up_to="level")
    wires = ("2.345 ohm ± 0.1 ohm",) * len(plan.contacts)
    return replace(plan, stages=stages, own=own, wires=wires, twisted=True)


def drawn(rigs: Iterable[Rig]) -> Iterator[str]:
    """Both drawings of every axis, the dial at a mark of its own."""
    for rig in rigs:
        for axis in rig.axes.values():
            yield draw_dial(dial_of(mounting_at(axis, axis.clamped_at)))
            yield draw_schematic(schematic_of(axis))
    for axis in other_kinds().axes.values():
        yield draw_schematic(crowded(schematic_of(axis)))


@pytest.fixture(scope="module")
def page_of_all(tmp_path_factory: pytest.TempPathFactory, document: Any) -> Path:
    """One page with the report's own styles and every drawing of the random rigs."""
    return written(document, tmp_path_factory.mktemp("drawings") / "all.html", count=RIGS)


def written(document: Any, file: Path, *, count: int) -> Path:
    """A page of so many random rigs."""
    html = render_html(document)
    styles = html[html.index("<style>") : html.index("</style>")]
    drawings = "".join(drawn([other_kinds(), *(random_rig(SEED + k) for k in range(count))]))
    file.write_text(
        f"<!doctype html><meta charset=utf-8>{styles} .draft{{width:auto!important}}</style>{drawings}",
        "utf-8",
    )
    return file


def test_no_label_of_200_random_rigs_lies_over_another_or_off_its_sheet(
    browser: Browser, page_of_all: Path
) -> None:
    page = browser.new_page(viewport={"width": 1600, "height": 900})
    page.goto(page_of_all.as_uri())
    page.evaluate("document.fonts.ready.then(() => true)")
    assert page.locator("svg.draft").count() == 2 * (RIGS + KINDS) + KINDS
    assert page.locator("svg.draft text").count() > 20 * RIGS
    found = page.evaluate(CROSSING)
    page.add_style_tag(content=".draft text{font-family:'DejaVu Sans'!important}")
    found += page.evaluate(CROSSING)
    page.close()
    assert not found, "\n".join([f"{len(found)} labels", *found[:10]])


@pytest.mark.parametrize(
    ("plant", "fault"),
    [
        ("for (const each of ['x', 'y']) b.setAttribute(each, a.getAttribute(each))", "' over '"),
        ("a.setAttribute('x', '-900')", "leaves the sheet"),
        (
            "const r = svg.querySelector('rect.part'); for (const each of ['x', 'y'])"
            " a.setAttribute(each, r.getAttribute(each)); r.parentElement.append(a)",
            "over a symbol",
        ),
    ],
)
def test_a_planted_collision_is_found(
    browser: Browser, document: Any, tmp_path: Path, *, plant: str, fault: str
) -> None:
    page = browser.new_page(viewport={"width": 2400, "height": 900})
    page.goto(written(document, tmp_path / "one.html", count=1).as_uri())
    page.evaluate(f"""() => {{
      const svg = [...document.querySelectorAll('svg.draft')].find(each => each.querySelector('rect.part'));
      const [a, b] = svg.querySelectorAll('text');
      {plant};
    }}""")
    found = page.evaluate(CROSSING)
    page.close()
    assert any(fault in each for each in found)
