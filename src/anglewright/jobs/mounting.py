"""Job: how to mount the sensor of an axis: where to clamp it, what to read, the room at both ends, a dial."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from anglewright.errors import Problem, UsageError, nearest
from anglewright.jobs.drawing import dial_of
from anglewright.jobs.findingtable import step_json
from anglewright.jobs.opening import the_axis
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.quantities.showing import show
from anglewright.report.dial import Dial, draw_dial
from anglewright.report.document import Fact, MountingSheet
from anglewright.report.drafting import LOOKS, SIGN, as_file
from anglewright.review.cautions import BEFORE_WORK, FIRST_POWER_UP, WHO_DECIDES, fault_action
from anglewright.rig import Axis, Rig
from anglewright.rigfile.storing import hold_foreign, write_whole
from anglewright.selection.instructions import (
    instructions,
    margin_text,
    other_targets,
    reading_text,
    start_text,
)
from anglewright.selection.margins import Margin, margins, repeat_step, sign_step
from anglewright.selection.mounting import Mounting, Target, clamp_target, ends_of_output, mounting_at

CLAMPING = (
    "Setting the clamp by a reading needs the sensor's power on, with the motor's power physically removed "
    "and the load supported."
)
"""What must be on, what must be off."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class MountResult(Shown):
    """A mounting at one mark, with the file of its dial where one was written."""

    mounting: Mounting
    target: Target
    others: tuple[Target, ...]
    margins: tuple[Margin, ...]
    notes: tuple[str, ...]
    file: Path | None = None

    @property
    def axis(self) -> Axis:
        """The axis as clamped at the mark."""
        return self.mounting.axis

    @property
    def headline(self) -> str:
        """Where to clamp and at which reading."""
        where = show(self.target.position, self.axis.unit)
        return f"Mount {self.axis.name} at '{self.mounting.mark}', {where}: {reading_text(self.target)}."

    @property
    def steps(self) -> tuple[str, ...]:
        """What to do, in its order."""
        return instructions(self.mounting, self.others)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What comes before the first step."""
        action = fault_action(self.axis.when_unpowered.value)
        return (BEFORE_WORK, CLAMPING, action, FIRST_POWER_UP, WHO_DECIDES)

    @property
    def dial(self) -> Dial:
        """The sensor's shaft as an engineer's dial."""
        return dial_of(self.mounting)

    @property
    def remarks(self) -> tuple[str, ...]:
        """Room at both ends, what a reading means at power-up, the direction, and notes of the rig."""
        rooms = tuple(margin_text(self.mounting, margin) for margin in self.margins)
        slope = sign_step(self.mounting)
        sign = f"The sign of the code: {slope.result:+.4g} {slope.unit} in the positive direction."
        return tuple(each for each in (*rooms, start_text(self.mounting), sign, *self.notes) if each)

    def tables(self) -> tuple[Table, ...]:
        """Cautions, steps, remarks."""
        return (
            _numbered("Before you begin", self.cautions),
            _numbered("Steps (common practice, no source)", self.steps),
            _numbered("Room and sign", self.remarks),
        )

    def as_json(self) -> Json:
        """Positions in the unit of the axis, angles of the sensor in degrees."""
        unit, repeat = self.axis.unit, repeat_step(self.mounting)
        return {
            "axis": self.axis.name,
            "unit": unit.name,
            "mark": self.mounting.mark,
            "target": _target_json(self.target, self.axis),
            "steps": list(self.steps),
            "expected": [_target_json(each, self.axis) for each in self.others],
            "margins": [_margin_json(each, self.axis) for each in self.margins],
            "ends": self.mounting.ends.value,
            "ends_at": [unit.from_si(q) for q in ends_of_output(self.mounting)],
            "centred_by": float(np.degrees(self.mounting.centred)),
            "sign": step_json(sign_step(self.mounting)),
            "power_up": step_json(repeat) if repeat else None,
            "remarks": list(self.remarks),
            "cautions": list(self.cautions),
            "file": str(self.file) if self.file else None,
        }


def mount(
    rig: Rig,
    *,
    axis: str | None = None,
    at: str | None = None,
    svg: str | Path | None = None,
    look: str = "screen",
) -> MountResult:
    """How to mount the sensor of an axis at the mark where the user stands.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str, optional
        Name of an axis; the only one where there is but one.
    at : str, optional
        Mark at which the axis stands; the one that the rig file names for the clamping otherwise.
    svg : str or Path, optional
        File for the dial.
    look : str
        How the dial's file looks: ``screen``, ``light``, ``dark`` or ``print``.

    Returns
    -------
    MountResult
        Steps with the readings to expect, room at both ends, cautions.

    Raises
    ------
    UsageError
        No such axis, mark or look.
    RangeError
        At that mark the shaft would stand off its track.
    DataError
        The file cannot be written, or there is one that is no drawing.

    Examples
    --------
    With the arm on its lower rest the sensor must stand at a tenth of its track:

    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/no-pull.toml")
    >>> mount(rig, axis="shoulder", at="stow").headline
    "Mount shoulder at 'stow', -20 deg: 0.34 V (0.31 to 0.37 V)."
    """
    held_look(look, svg)
    chosen = the_axis(rig, axis)
    mounting = mounting_at(chosen, at or chosen.clamped_at)
    result = MountResult(
        mounting=mounting,
        target=clamp_target(mounting),
        others=other_targets(mounting),
        margins=margins(mounting),
        notes=rig.notes,
        file=None if svg is None else drawing_file(svg),
    )
    if result.file:
        write_whole(result.file, as_file(draw_dial(result.dial), look=look))
    return result


def mounting_sheet(rig: Rig, axis: Axis) -> MountingSheet:
    """The mounting of an axis at the mark of its file, as the report shows it."""
    result = mount(rig, axis=axis.name)
    room = tuple(
        Fact(
            name=f"beyond {show(each.position, axis.unit)}",
            value=f"{each.left.result:.3g} deg left, {each.needed.result:.3g} deg needed",
            note="enough" if each.fine else "too little",
            how=(each.left, each.needed),
        )
        for each in result.margins
    )
    slope = sign_step(result.mounting)
    sign = Fact(name="sign", value=f"{slope.result:+.4g} {slope.unit}", how=(slope,))
    return MountingSheet(headline=result.headline, dial=result.dial, steps=result.steps, room=(*room, sign))


def drawing_file(path: str | Path) -> Path:
    """A file that a drawing may be written to.

    Raises
    ------
    DataError
        There is a file that is no drawing.
    """
    file = Path(path)
    hold_foreign(file, SIGN)
    return file


def held_look(look: str, file: str | Path | None) -> None:
    """Refuse a look that there is none of, or one for a file that is not asked for.

    Raises
    ------
    UsageError
        It is one of the two.
    """
    if look not in LOOKS:
        raise UsageError(Problem("--look", f"there is no look '{look}'", "", nearest(look, LOOKS)))
    if file is None and look != "screen":
        found = f"'{look}' is given, and no file to draw into"
        raise UsageError(Problem("--look", found, "", "Give --svg FILE too, or leave it out."))


def _numbered(title: str, lines: tuple[str, ...]) -> Table:
    rows = tuple((f"{rank}", line) for rank, line in enumerate(lines, start=1))
    return Table(title=title, columns=("", "what"), rows=rows, right=("",))


def _target_json(target: Target, axis: Axis) -> Json:
    low_v, high_v = target.volts_within or (None, None)
    return {
        "position": axis.unit.from_si(target.position),
        "mark": target.mark or None,
        "sensor_angle": float(np.degrees(target.angle)),
        "share": target.share,
        "volts": target.volts,
        "volts_low": low_v,
        "volts_high": high_v,
        "code": target.code,
        "code_low": target.codes[0],
        "code_high": target.codes[1],
    }


def _margin_json(margin: Margin, axis: Axis) -> Json:
    return {
        "position": axis.unit.from_si(margin.position),
        "left": margin.left.result,
        "needed": margin.needed.result,
        "fine": margin.fine,
        "steps": [step_json(margin.left), step_json(margin.needed)],
    }
