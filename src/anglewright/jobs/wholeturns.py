"""A reference that counts from 0 to 360 deg, beside a motion that begins below 0."""

from dataclasses import replace

import numpy as np

from anglewright.angles import TURN, nearest_turn
from anglewright.quantities.showing import show
from anglewright.quantities.units import Kind
from anglewright.rig import Axis
from anglewright.tables.sheet import Sheet

BEYOND = 0.1  # of the motion, by which a reference may lie beyond it (common practice, no source) [1]


def in_the_motion(axis: Axis, sheet: Sheet) -> Sheet:
    """A sheet whose references lie in the turn of the motion, where that brings all of them into it.

    Parameters
    ----------
    axis : Axis
        The axis. One without ends, or along a line, is left alone.
    sheet : Sheet
        What was read.

    Returns
    -------
    Sheet
        With a sentence about it among its decisions, where a reference was a whole turn off.
    """
    recording, motion = sheet.recording, axis.motion
    if motion.endless or axis.unit.kind is not Kind.ANGLE or recording.reference is None:
        return sheet
    middle, reach = motion.middle, (0.5 + BEYOND) * (motion.high - motion.low)
    moved = np.asarray(nearest_turn(recording.reference, middle, period=TURN))
    off = np.flatnonzero(np.abs(moved - recording.reference) > TURN / 2.0)
    if not len(off) or reach >= TURN / 2.0 or not np.all(np.abs(moved - middle) <= reach):
        return sheet
    was, now = (show(float(each[off[0]]), axis.unit) for each in (recording.reference, moved))
    said = f"{len(off)} references are a whole turn off the motion and were put into it: {was} is {now}"
    moved.flags.writeable = False
    return replace(sheet, recording=replace(recording, reference=moved), decisions=(*sheet.decisions, said))
