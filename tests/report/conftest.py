"""A sheet of the shoulder of the invented greenhouse rover, filled by simple arithmetic, and a browser.

The rig: -20 to 115 deg, gears 48 : 24, track 340 deg with its middle at 47.5 deg, 3.3 V, 12 bit, no pull,
3 deg of play at the sensor's shaft. The expected values are those of the table worked out by hand for it:
24.094 counts per degree, codes 421, 903, 2048, 3674 at -20, 0, 47.5, 115 deg, play of 0.75 deg at the joint.
"""

import math
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from anglewright.findings import Finding, Severity
from anglewright.report.document import (
    Arc,
    AxisSheet,
    Budget,
    BudgetRow,
    Calibration,
    CardRow,
    Circuit,
    Clamp,
    CodeSheet,
    Fact,
    Frame,
    Gears,
    Joint,
    Point,
    ReportDocument,
    Room,
    Staircase,
    StateBar,
    Track,
)
from anglewright.steps import Step

LOW, HIGH, MIDDLE, RATIO, TRAVEL, FEED, CODES = -20.0, 115.0, 47.5, 2.0, 340.0, 3.3, 4096
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
        phases=(position, position, RATIO * position, shaft, x, x, n / CODES, n / CODES),
    )


def rooms(shares: list[float]) -> tuple[Room, ...]:
    """The strip of the chain; shares of gears, coupling, mount, sensor, wiring, converter."""
    facts = (Fact(name="driver", value="48 teeth"), Fact(name="driven", value="24 teeth"))
    track = (Fact(name="track", value="10 kohm ± 2 kohm"), Fact(name="travel", value="340 deg ± 5 deg"))
    gears, coupling, mount, sensor, wiring, converter = shares
    return (
        Room(
            kind="Motion",
            part="Shoulder, -20 to 115 deg",
            drawing=Arc(low_deg=LOW, high_deg=HIGH),
            leaves="joint",
        ),
        Room(
            kind="Drive",
            part="Gears 48 : 24",
            drawing=Gears(teeth=(48, 24)),
            leaves="sensor shaft",
            share=gears,
            share_reason="backlash 0.10 mm",
            inside=facts,
        ),
        Room(
            kind="Coupling",
            part="Printed D-bore",
            drawing=Joint(play=True),
            leaves="play, at the joint",
            share=coupling,
            share_reason="play 3 deg of shaft",
        ),
        Room(
            kind="Mount",
            part="Clamped at the pin, 50 %",
            drawing=Clamp(),
            leaves="from mid-track",
            share=mount,
            share_reason="cured by zeroing",
        ),
        Room(
            kind="Sensor",
            part="Single-turn, 10 kohm, 340 deg",
            drawing=Track(travel_deg=TRAVEL),
            leaves="of travel",
            share=sensor,
            share_reason="linearity ±1 %",
            inside=track,
        ),
        Room(
            kind="Wiring",
            part="3.3 V ratiometric, 1 kohm, 100 nF",
            drawing=Circuit(series=True, capacitor=True),
            leaves="at the pin",
            share=wiring,
        ),
        Room(
            kind="Converter",
            part="12 bit, 3.3 V",
            drawing=Staircase(),
            leaves="counts",
            share=converter,
            share_reason="noise 1.5 LSB",
        ),
        Room(kind="Code", part="C99, straight line", drawing=CodeSheet(), leaves="reported"),
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


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser | None]:
    """The installed Chromium; None only where its absence was declared."""
    path = shutil.which("chromium")
    if "chromium" in os.environ.get("ANGLEWRIGHT_WITHOUT", ""):
        yield None
        return
    assert path, "Chromium is not installed. Install it, or set ANGLEWRIGHT_WITHOUT=chromium to go without."
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=path, args=LAUNCH)
        yield started
        started.close()


@pytest.fixture
def report_file(tmp_path: Path) -> Path:
    """Where a test writes its report."""
    return tmp_path / "report.html"
