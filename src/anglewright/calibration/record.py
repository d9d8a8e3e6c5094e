"""The kept result of a calibration: its data, its curve, and which chain it belongs to."""

import math
from dataclasses import dataclass

import numpy as np

from anglewright.angles import nearest_turn
from anglewright.calibration.leftout import LeftOut
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.uncertainty import ReferenceUncertainty
from anglewright.circuits import Numeric
from anglewright.links.code import CodeLine, Corrections

CALIBRATION, ZERO = "calibration", "zero"
"""Kinds of a record: slope and zero were found, or the zero alone was moved."""

ROUNDED = 1e-9  # share that a number loses on its way into a file and back [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordParameter:
    """A parameter of the model that was fitted, to be read only; its numbers are in `unit`, as text."""

    name: str
    value: float
    standard_uncertainty: float
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordError:
    """What stands behind the interval of a record, so that a later one can be compared with it.

    Parameters
    ----------
    dof : float
        Degrees of freedom of the covariance, what the reference leaves for good apart; may be infinite. [1]
    structure : float
        Standard deviation of what the curve cannot follow. [rad or m]
    structure_dof : int
        Its degrees of freedom; 0 stands for very many. [1]
    reference : ReferenceUncertainty or None
        Standard uncertainties of the reference; None where the line rests on another place, as a moved zero.
        [rad or m, 1]
    visits : float
        Standard deviation of what the same place shows at another visit. [rad or m]
    """

    dof: float
    structure: float
    structure_dof: int
    reference: ReferenceUncertainty | None = None
    visits: float = 0.0

    def same_reference(self, other: "RecordError | None") -> bool:
        """Whether both rest on one reference, as far as its stated uncertainty tells; its marks apart."""
        mine, its = self.reference, None if other is None else other.reference
        if mine is None or its is None:
            return False
        pairs = ((mine.per_point, its.per_point), (mine.shared, its.shared), (mine.scale, its.scale))
        return all(math.isclose(one, another, rel_tol=ROUNDED) for one, another in pairs)


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationRecord:
    """A calibration as it is kept. Positions in m or rad, `slope` a count; `covariance` of offset and slope.

    `chain` is the fingerprint of the chain it was made on; `withdrawn` is empty or says why it is not used.
    `machine` is the machine it was made on, empty where there is but one without a name; `serial` that of the
    sensor, empty where it was not said. Where only the zero was moved `kind` is ``zero``, `based_on` names
    the calibration whose slope it keeps, and `because` says why it was moved so far, if it was.

    `corrections` is added to the line where there is one. [m or rad] `domain` is the lowest and the highest
    code that the calibration covers; None in old records, which say nothing of it. [count] `half_widths` are
    those of one reading at 95 %, at codes evenly spaced over `domain`, both ends included; `half_width_95` is
    the widest over the motion. [m or rad] `parameters` are those of the model. `left_out` are points that
    were taken and are in no fit.
    """

    name: str
    date: str
    rig: str
    axis: str
    chain: str
    sensor: str
    offset: float
    slope: float
    covariance: tuple[tuple[float, float], tuple[float, float]]
    residual_sd: float
    half_width_95: float
    verdict: str
    points: tuple[CalibrationPoint, ...]
    model: str = "line"
    withdrawn: str = ""
    machine: str = ""
    serial: str = ""
    kind: str = CALIBRATION
    based_on: str = ""
    because: str = ""
    corrections: Corrections | None = None
    domain: tuple[float, float] | None = None
    parameters: tuple[RecordParameter, ...] = ()
    half_widths: tuple[float, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    error: RecordError | None = None

    @property
    def dof(self) -> float:
        """Degrees of freedom of the covariance; old records count their points, less two of a line. [1]

        Those of a zero that was moved by an old record are not counted.
        """
        if self.error is not None:
            return self.error.dof
        return max(len(self.points) - 2.0, 1.0) if self.kind == CALIBRATION else math.inf

    def code_line(self, *, rotary: bool = True) -> CodeLine:
        """What the controller computes: the line with its corrections. [m or rad]"""
        return CodeLine(offset=self.offset, slope=self.slope, rotary=rotary, corrections=self.corrections)

    def at(self, code: Numeric) -> Numeric:
        """Position of a code. [m or rad]"""
        return self.code_line().forward(code)

    def beyond(self, code: float, *, period: float | None = None) -> float:
        """How far a code lies outside the calibrated ones; 0 inside. [count]

        `period` is after how many codes an axis comes round: then the nearer way counts. [count]
        """
        if self.domain is None:
            return 0.0
        low, high = self.domain
        if period is not None:
            code = float(nearest_turn(code, (low + high) / 2.0, period=period))
        return max(low - code, code - high, 0.0)

    def half_width_at(self, code: float, *, period: float | None = None) -> float:
        r"""Half-width at 95 % of one reading at a code, wider outside the calibrated codes.

        Parameters
        ----------
        code : float
            The reading. [count]
        period : float or None
            After how many codes the axis comes round, None where it has ends. [count]

        Returns
        -------
        float
            Half-width. [m or rad]

        Notes
        -----
        Inside it is that of the curve there, as far as the record tells, else the widest. Outside,
        :math:`U(n) = U_e + d\,(2 u(s) + |g|)` with :math:`U_e` at the end, :math:`d` the distance in codes
        from it, :math:`u(s)` the standard uncertainty of the slope, and :math:`g` the slope of the
        corrections where the domain ends on that side, of a table that comes round its steepest. The curve
        may go on as it went while the table does not: so its whole slope counts. What else may happen where
        nothing was measured, a dead end of a track, no number tells.

        References
        ----------
        gum-h3
        derived
        """
        far, slope_u, end = self.widening(code, period=period)
        return self.half_width_inside(code) + far * (2.0 * slope_u + end)

    def half_width_inside(self, code: float) -> float:
        """Half-width at a calibrated code, or at the end that is nearer. [m or rad]"""
        if not self.half_widths or self.domain is None:
            return self.half_width_95
        return float(np.interp(code, np.linspace(*self.domain, len(self.half_widths)), self.half_widths))

    def widening(self, code: float, *, period: float | None = None) -> tuple[float, float, float]:
        """What makes the half-width grow outside the calibrated codes; nought inside.

        Counts beyond them [count], standard uncertainty of the slope, slope of the corrections where they end
        [m or rad per count].
        """
        far = self.beyond(code, period=period)
        if not far:
            return 0.0, 0.0, 0.0
        return far, math.sqrt(self.covariance[1][1]), self._end_slope(code, period)

    def _end_slope(self, code: float, period: float | None) -> float:
        """How steep the corrections end on the side of a code. [m or rad per count]"""
        table, domain = self.corrections, self.domain
        if table is None or domain is None:
            return 0.0
        if table.period is not None or period is not None:
            return float(np.max(np.abs(table.slopes)))
        piece = np.searchsorted(table.nodes, domain[int(code > domain[0])]) - 1
        return float(abs(table.slopes[int(np.clip(piece, 0, len(table.slopes) - 1))]))

    @property
    def order(self) -> tuple[str, int]:
        """Day and number: a later record has the greater. [1]"""
        day, _, number = self.name.rpartition("-")
        return day, int(number)
