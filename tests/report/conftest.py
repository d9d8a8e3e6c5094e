"""A sheet of the shoulder of the invented greenhouse rover, filled by simple arithmetic, and a browser.

The rig: -20 to 115 deg, gears 48 : 24, track 340 deg with its middle at 47.5 deg, 3.3 V, 12 bit, no pull,
3 deg of play at the sensor's shaft. The expected values are those of the table worked out by hand for it:
24.094 counts per degree, codes 421, 903, 2048, 3674 at -20, 0, 47.5, 115 deg, play of 0.75 deg at the joint.
"""

import math
import os
import shutil
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from anglewright.findings import Finding, Severity
from anglewright.jobs.mounting import mounting_sheet
from anglewright.jobs.opening import open_rig
from anglewright.jobs.reporting import report_document
from anglewright.jobs.wiring import wiring_sheet
from anglewright.report.document import (
    AxisSheet,
    Budget,
    BudgetRow,
    Calibration,
    CardRow,
    Fact,
    Frame,
    Point,
    ReportDocument,
    Room,
    StateBar,
)
from anglewright.report.symbols import (
    Arc,
    Circuit,
    Clamp,
    CodeSheet,
    DBore,
    Drawing,
    Gears,
    Staircase,
    Track,
)
from anglewright.steps import Step

LOW, HIGH, MIDDLE, RATIO, TRAVEL, FEED, CODES = -20.0, 115.0, 47.5, 2.0, 340.0, 3.3, 4096
ROVER = open_rig(Path(__file__).resolve().parents[2] / "examples" / "rover" / "no-pull.toml")
LAUNCH = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]

PLAY = Step(
    symbol="r",
    meaning="half the play, seen at the joint",
    formula="play / (2 * ratio)",
    numbers={"play": 3.0, "ratio": 2.0},
    result=0.75,
    unit="deg",
    source="derived",
    link="coupling",
)
COUNT = Step(
    symbol="u",
    meaning="rounding to a whole code",
    formula="travel / (codes * ratio) / sqrt(12)",
    numbers={"travel": TRAVEL, "codes": CODES, "ratio": RATIO},
    result=TRAVEL / (CODES * RATIO) / math.sqrt(12),
    unit="deg",
    source="gum-quantisation",
    link="converter",
)


def fraction(position: float) -> float:
    """Place on the track, 0 to 1."""
    return 0.5 + RATIO * (position - MIDDLE) / TRAVEL


def code(position: float) -> int:
    """Code at a position."""
    return math.floor(CODES * fraction(position))


def frame(position: float) -> Frame:
    """The chain at one position."""
    x, n = fraction(position), code(position)
    shaft = RATIO * (position - MIDDLE)
    reported = MIDDLE + ((n + 0.5) / CODES - 0.5) * TRAVEL / RATIO
    return Frame(
        position=position,
        position_text=f"{position:.2f} deg",
        values=(
            f"{position:.2f} deg",
            f"{RATIO * position:.2f} deg",
            "±0.75 deg",
            f"{shaft:.1f} deg",
            f"{x:.4f}",
            f"{FEED * x:.4f} V",
            f"{n}",
            f"{reported:.2f} deg",
        ),
        phases=(
            (position,),
            ((position - LOW) / (HIGH - LOW), RATIO * position),
            (RATIO * position, RATIO * position),
            (shaft,),
            (x, shaft),
            (x,),
            (n / CODES,),
            ((reported - LOW) / (HIGH - LOW),),
        ),
    )


INSIDE = {
    "Drive": (Fact(name="driver", value="48 teeth"), Fact(name="driven", value="24 teeth")),
    "Sensor": (Fact(name="track", value="10 kohm ± 2 kohm"), Fact(name="travel", value="340 deg ± 5 deg")),
}
ROOMS: tuple[tuple[str, str, Drawing, str, str], ...] = (
    ("Motion", "Shoulder, -20 to 115 deg", Arc(low_deg=LOW, high_deg=HIGH), "joint", ""),
    ("Drive", "Gears 48 : 24", Gears(teeth=(48, 24)), "sensor shaft", "backlash 0.10 mm"),
    ("Coupling", "Printed D-bore", DBore(play=True), "play, at the joint", "play 3 deg of shaft"),
    ("Mount", "Clamped at the pin, 50 %", Clamp(), "from mid-track", "cured by zeroing"),
    ("Sensor", "Single-turn, 10 kohm, 340 deg", Track(travel_deg=TRAVEL), "of travel", "linearity ±1 %"),
    ("Wiring", "3.3 V ratiometric, 1 kohm", Circuit(series=True, capacitor=True), "at the pin", ""),
    ("Converter", "12 bit, 3.3 V", Staircase(), "counts", "noise 1.5 LSB"),
    ("Code", "C99, straight line", CodeSheet(), "reported", ""),
)


def rooms(shares: list[float]) -> tuple[Room, ...]:
    """The strip of the chain; shares of gears, coupling, mount, sensor, wiring, converter."""
    return tuple(
        Room(
            kind=kind,
            part=part,
            drawing=drawing,
            leaves=leaves,
            share=share,
            share_reason=reason,
            inside=INSIDE.get(kind, ()),
        )
        for (kind, part, drawing, leaves, reason), share in zip(ROOMS, [None, *shares, None], strict=True)
    )


def budget() -> tuple[Budget, list[float]]:
    """Contributions and half-widths at k = 2; and the shares of the rooms."""
    u = {
        "Play of the coupling": 0.75,
        "Linearity of the track": 0.31,
        "Backlash of the gears": 0.0597,
        "Noise of the converter": 0.0623,
        "Rounding to a whole code": COUNT.result,
    }
    links = ("coupling", "sensor", "drive", "converter", "converter")
    cures = ("one-sided approach", "a longer table", "one-sided approach", "averaging", "more bits")
    variance = sum(value**2 for value in u.values())
    shares = [value**2 / variance for value in u.values()]
    rows = tuple(
        BudgetRow(
            contribution=name,
            link=link,
            cured_by=cure,
            uncertainty=f"{value:.3f} deg",
            share=share,
            how={"coupling": (PLAY,)}.get(link, (COUNT,) if name.startswith("Rounding") else ()),
        )
        for (name, value), link, cure, share in zip(u.items(), links, cures, shares, strict=True)
    )
    calibrated, without = 2 * math.sqrt(variance), 2 * math.sqrt(variance - 0.75**2)
    bars = tuple(
        StateBar(
            name=name, half_width=value, half_width_text=f"{value:.1f} deg", meets=value <= 1, what_if=idea
        )
        for name, value, idea in (
            ("Data sheet alone", 4.3, False),
            ("Zeroed", 2.4, False),
            ("Calibrated", calibrated, False),
            ("Without the play", without, True),
            ("Half the linearity", 1.55, True),
        )
    )
    note = "Plays move together, so they add before they are squared."
    made = Budget(shown_for="after the planned calibration, at 115 deg", rows=rows, bars=bars, note=note)
    return made, [shares[2], shares[0], 0.0, shares[1], 0.0, shares[3] + shares[4]]


def findings() -> tuple[Finding, ...]:
    """One of each severity."""
    return (
        Finding(
            key="play",
            severity=Severity.STOP,
            axis="shoulder",
            link="coupling",
            text="The play of the coupling makes ±0.75 deg of the ±1.0 deg that the need allows.",
            remedy="Clamp the shaft rigidly and hold the sensor's body against rotation only, or use a "
            "flexible coupling without play.",
            source="practice",
            measured=0.75,
            limit=1.0,
            unit="deg",
            steps=(PLAY,),
        ),
        Finding(
            key="open-wiper",
            severity=Severity.CAUTION,
            axis="shoulder",
            link="wiring",
            text="An open lead cannot be seen: without a pull the pin floats.",
            remedy="Put 100 kohm from pin to ground and correct for its load.",
            source="practice",
        ),
        Finding(
            key="range",
            severity=Severity.NOTE,
            axis="shoulder",
            link="sensor",
            text="The track is used from 10 % to 90 %.",
            remedy="Enough is left at each end for 8 deg of over-travel.",
            source="practice",
        ),
    )


def calibration() -> Calibration:
    """Nine positions up and down with the planted play and a slow wave of the track."""
    points = []
    for k in range(9):
        q = LOW + (HIGH - LOW) * k / 8
        wave = 0.22 * math.sin(2 * math.pi * (q - LOW) / 150)
        points += [
            Point(position=q, residual=wave - 0.72, side=1),
            Point(position=q, residual=wave + 0.74, side=-1),
        ]
    facts = (
        Fact(name="slope", value="0.041512 deg per count", note="± 0.000040"),
        Fact(name="play", value="1.46 deg ± 0.11 deg", note="total, at the joint", how=(PLAY,)),
        Fact(name="linearity, independent", value="0.16 %"),
        Fact(name="repeatability", value="0.05 deg"),
    )
    return Calibration(
        record="2031-05-12-1",
        date_text="12 May 2031",
        points=tuple(points),
        facts=facts,
        headline="Coming down reads 1.5 deg higher than going up",
    )


def card() -> tuple[CardRow, ...]:
    """The card at the ends, at zero and at the marks."""
    return tuple(
        CardRow(
            position=f"{q:g} deg",
            mark=mark,
            sensor_angle=f"{TRAVEL * fraction(q):.1f} deg",
            volts_wiper=f"{FEED * fraction(q):.5f} V",
            volts_pin=f"{FEED * fraction(q):.5f} V",
            code=str(code(q)),
            limits=f"{code(q) - 41} .. {code(q) + 41}",
        )
        for q, mark in ((-20.0, "stow"), (0.0, ""), (47.5, "pin"), (115.0, ""))
    )


def shoulder_sheet() -> AxisSheet:
    """The whole sheet of the shoulder."""
    made, shares = budget()
    return AxisSheet(
        name="shoulder",
        unit="deg",
        headline="Shoulder reads true to ±1.6 deg; it should be ±1.0 deg",
        lead="The coupling holds it back: without its play the same parts reach ±0.6 deg. Always approaching "
        "from below does as much today.",
        verdict="fails",
        permissible=1.0,
        permissible_text="±1.0 deg",
        rooms=rooms(shares),
        frames=tuple(frame(LOW + 2.5 * k) for k in range(55)),
        start_frame=30,
        budget=made,
        actions=(
            "Approach every position from below, today.",
            "Clamp the sensor's shaft, this week.",
            "Then calibrate again at 9 positions, up and down.",
        ),
        findings=findings(),
        calibration=calibration(),
        card=card(),
        card_note="Read with the connector on and the arm held by the pin. Limits hold for a healthy sensor.",
        mounting=mounting_sheet(ROVER, ROVER.axis("shoulder")),
        wiring=wiring_sheet(ROVER.axis("shoulder")),
        cautions=(
            "The arm drops when unpowered: rest it on its lower stop or pin it before you reach in.",
            "Fuse or current-limit the feed; resistance checks come before power.",
            "This sheet is no safety assessment: local codes and licensed practice decide.",
        ),
        assumptions=(Fact(name="temperature", value="15 to 35 degC", note="not told"),),
        steps=(PLAY, COUNT),
    )


@pytest.fixture(scope="session")
def shoulder() -> AxisSheet:
    """A full sheet."""
    return shoulder_sheet()


@pytest.fixture(scope="session")
def document(shoulder: AxisSheet) -> ReportDocument:
    """A report of one axis."""
    return ReportDocument(
        rig_name="Vine rover",
        source_file="rig.toml",
        date_text="12 May 2031",
        version="0.1",
        simulated=True,
        headline=shoulder.headline,
        lead="",
        axes=(shoulder,),
        provenance=(Fact(name="Bench", value="simulated sweep, seed 7"),),
    )


HOSTILE = (
    "\"'></script></style><img src=x onerror=alert(1)>{{ 7*7 }} &amp; \u202e\u03a9 \ud800 " + "long" * 40
)
KEPT = {"source", "verdict", "pull", "unit", "sends", "way"}  # words out of a fixed list, not free text


def poisoned(thing: object) -> object:
    """The same records with every free text replaced by a hostile one."""
    if isinstance(thing, tuple):
        return tuple(poisoned(each) for each in thing)
    if not is_dataclass(thing) or isinstance(thing, type):
        return HOSTILE if isinstance(thing, str) else thing
    changed = {
        each.name: poisoned(getattr(thing, each.name)) for each in fields(thing) if each.name not in KEPT
    }
    return replace(thing, **changed)


@pytest.fixture(scope="session")
def hostile(document: ReportDocument) -> ReportDocument:
    """A report whose every free text is an attack, and far too long."""
    made = poisoned(document)
    assert isinstance(made, ReportDocument)
    return made


@pytest.fixture(scope="session")
def bare(document: ReportDocument, shoulder: AxisSheet) -> ReportDocument:
    """A report without calibration, findings, card or anything else that may be missing."""
    budget = replace(shoulder.budget, rows=(), bars=())
    sheet = replace(
        shoulder, lead="", budget=budget, findings=(), calibration=None, actions=(), card=(), cautions=(),
        assumptions=(), steps=(), mounting=None, wiring=None,
    )  # fmt: skip
    return replace(document, axes=(sheet,), simulated=False, provenance=())


@pytest.fixture(scope="session")
def every_kind() -> ReportDocument:
    """A report of a rig that holds every kind of part."""
    rig = open_rig(Path(__file__).resolve().parent / "every-kind.toml")
    return report_document(rig, date="12 May 2031")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The installed Chromium."""
    if "chromium" in os.environ.get("ANGLEWRIGHT_WITHOUT", "").replace(",", " ").split():
        pytest.skip("ANGLEWRIGHT_WITHOUT says that chromium is not to be used")
    path = shutil.which("chromium")
    if path is None:
        pytest.fail(
            "Chromium is not installed. Install it, or set ANGLEWRIGHT_WITHOUT=chromium to leave these out."
        )
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=path, args=LAUNCH)
        yield started
        started.close()
