"""Axes of every kind of sensor without noise and spreads, and logs of them with one fault at a time."""

from collections.abc import Callable
from pathlib import Path

import pytest

from anglewright.jobs.running import Run
from anglewright.jobs.simulating import SimulateResult, simulate
from anglewright.rig import Rig
from anglewright.rigfile.document import load_document, parse_document, with_changes
from anglewright.rigfile.reading import build_rig

ROVER = Path(__file__).resolve().parents[2] / "examples" / "rover"

CALM = (
    "shoulder.converter.noise=0 LSB rms",
    'shoulder.plan.reference={ per_point = "0 deg", shared = "0 deg", scale = "0 %" }',
    "shoulder.coupling.play=0 deg",
    "shoulder.drive.backlash=0 mm",
    "shoulder.sensor.track=10 kohm",
    "shoulder.sensor.electrical_travel=340 deg",
    "shoulder.sensor.linearity=0 %",
    "shoulder.mount.within=0 deg",
    "shoulder.marks.pin.within=0 deg",
    "shoulder.marks.stow.within=0 deg",
)
"""The shoulder with every number exact: 2 turns of the sensor a turn, 340 deg of track, mid at 47.5 deg."""

FRAME = """
[axis.pan]
motion = {{ from = "{low}", to = "{high}", speed = "720 deg/s"{endless} }}
need = {{ error = "1 deg" }}
stops = {{ low = "{low}", high = "{high}" }}
when_unpowered = "holds"
marks = {{ front = {{ at = "180 deg", within = "0 deg" }} }}
coupling = {{ kind = "rigid" }}
mount = {{ {mount} }}
sensor = {{ {sensor} }}
wiring = {{ {wiring} }}
converter = {{ {converter} }}
plan = {{ zero_at = "front", reference = {{ per_point = "0 deg", shared = "0 deg" }} }}
"""
CLAMPED = 'clamped_at = "front", reading = "50 %", within = "0 deg"'
EXACT = 'non_linearity = "0 deg", noise = "0 deg rms", hysteresis = "0 deg", delay = "0 ms"'
KINDS = {
    "word": {
        "mount": CLAMPED,
        "sensor": f'kind = "serial", bits = 14, {EXACT}',
        "wiring": 'kind = "digital"',
        "converter": 'kind = "serial-word"',
    },
    "pulse": {
        "mount": CLAMPED,
        "sensor": f'kind = "pulse-width", {EXACT}',
        "wiring": 'kind = "digital"',
        "converter": 'kind = "pulse-timer"',
    },
    "lines": {
        "mount": 'kind = "homed", clamped_at = "front", within = "0 deg", repeatability = "0 deg"',
        "sensor": 'kind = "incremental", lines = 1024, line_error = "0 deg", edge_jitter = "0 deg"',
        "wiring": 'kind = "digital"',
        "converter": 'kind = "counter", width = 32, home_phase = "0 count"',
    },
    "output": {
        "mount": CLAMPED,
        "sensor": f'kind = "magnetic", {EXACT}',
        "wiring": 'feed = "3.3 V", series = "1 kohm", capacitor = "100 nF"',
        "converter": 'bits = 12, noise = "0 LSB rms", offset = "0 LSB"',
    },
}
"""The rest of an axis for each kind of sensor that one turn of the axis turns once."""

Log = Callable[..., SimulateResult]


def exact_shoulder(*changes: str, variant: str = "rig") -> Rig:
    """The rover's shoulder with exact numbers and some changes."""
    document = load_document(ROVER / f"{variant}.toml")
    return build_rig(with_changes(document, (*CALM, *changes)), source=variant)


def axis_with(kind: str, *, endless: bool = True) -> Rig:
    """An axis of one turn behind a sensor of a kind."""
    ends = {"low": "0 deg", "high": "360 deg", "endless": ", endless = true" if endless else ""}
    text = 'rig = "bench"\n' + FRAME.format(**ends, **KINDS[kind])
    return build_rig(parse_document(text, source="bench.toml"), source="bench.toml")


@pytest.fixture
def shoulder() -> Callable[..., Rig]:
    """Builds the exact shoulder after some changes."""
    return exact_shoulder


@pytest.fixture
def turning() -> Callable[..., Rig]:
    """Builds an endless axis behind a kind of sensor: word, pulse, lines, output."""
    return axis_with


@pytest.fixture
def log() -> Log:
    """A log of a rig with faults; a slow sweep of 20 s at 100 Hz unless said otherwise."""

    def run(rig: Rig, *plant: str, seed: int = 1, **given: str) -> SimulateResult:
        usual = {"motion": "sweep", "seconds": "20 s", "rate": "100 Hz"}
        return simulate(rig, None, seed=seed, plant=plant, run=Run(**(usual | given)))

    return run
