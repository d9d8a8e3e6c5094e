"""Records with a table of corrections, the calibrated codes and the model's parameters, kept as files."""

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit

from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import CalibrationRecord, RecordError, RecordParameter
from anglewright.calibration.uncertainty import ReferenceUncertainty
from anglewright.errors import DataError
from anglewright.jobs.opening import open_rig
from anglewright.links.code import Corrections
from anglewright.rig import Rig, fingerprint
from anglewright.rigfile.recordfile import read_record, record_text, sum_of, withdrawn_text


@pytest.fixture
def rig(rover: Path) -> Rig:
    """The rover."""
    return open_rig(rover / "rig.toml")


@pytest.fixture
def curve(rig: Rig) -> CalibrationRecord:
    """A record of the shoulder with everything that a record can have."""
    shoulder = rig.axis("shoulder")
    return CalibrationRecord(
        name="2026-05-12-1",
        date="2026-05-12",
        rig=rig.name,
        axis="shoulder",
        chain=fingerprint(shoulder),
        sensor="Single turn, 340 deg",
        offset=-0.64,
        slope=0.000724,
        covariance=((1e-6, -2e-10), (-2e-10, 3e-13)),
        residual_sd=0.001,
        half_width_95=0.01,
        verdict="meets",
        model="loaded divider",
        points=(CalibrationPoint(reference=-0.3, raw=421.25), CalibrationPoint(reference=0.3, raw=1500.0)),
        corrections=Corrections(first=400.0, step=1100.5, values=np.array([0.003, -0.011, 0.0072, 0.0])),
        domain=(281.5, 3813.25),
        half_widths=(0.0112, 0.0084, 0.0091),
        parameters=(
            RecordParameter(name="load", value=0.0993, standard_uncertainty=0.0021, unit="1"),
            RecordParameter(name="offset", value=-36.7, standard_uncertainty=0.04, unit="deg"),
        ),
    )


def written(folder: Path, text: str) -> Path:
    """A record file of that text."""
    path = folder / "2026-05-12-1.toml"
    path.write_text(text, encoding="utf-8", newline="\n")
    return path


@pytest.mark.parametrize("period", [None, 4402.0])
def test_a_curve_is_read_back_as_it_was_written(
    rig: Rig, curve: CalibrationRecord, tmp_path: Path, period: float | None
) -> None:
    assert curve.corrections is not None
    made = replace(curve, corrections=replace(curve.corrections, period=period))
    path = written(tmp_path, record_text(made, rig.axis("shoulder").unit))
    found = read_record(path, rig.axis("shoulder"))
    assert found.corrections is not None
    assert made.corrections is not None
    # Written in degrees and read back into radians: a rounding of the last digit each way.
    np.testing.assert_allclose(found.corrections.values, made.corrections.values, rtol=1e-14)
    assert (found.corrections.first, found.corrections.step) == (400.0, 1100.5)
    assert found.corrections.period == period
    assert (found.domain, found.parameters, found.points) == (made.domain, made.parameters, found.points)
    assert [point.raw for point in found.points] == [421.25, 1500.0]
    for code in (0.0, 777.0, 2222.0, 4000.0):
        assert found.at(code) == pytest.approx(float(made.at(code)), rel=1e-13)


def test_the_file_shows_the_corrections_in_the_unit_of_the_axis(
    rig: Rig, curve: CalibrationRecord, tmp_path: Path
) -> None:
    table = tomlkit.parse(record_text(curve, rig.axis("shoulder").unit)).unwrap()
    assert table["version"] == 2
    assert table["corrections"]["values"] == pytest.approx(np.degrees([0.003, -0.011, 0.0072, 0.0]))
    assert table["parameter"][0] == {
        "name": "load", "value": 0.0993, "standard_uncertainty": 0.0021, "unit": "1"
    }  # fmt: skip


def test_a_plain_line_is_written_as_before_and_an_old_record_means_what_it_meant(
    rig: Rig, curve: CalibrationRecord, tmp_path: Path
) -> None:
    plain = replace(curve, corrections=None, domain=None, parameters=())
    text = record_text(plain, rig.axis("shoulder").unit)
    table = tomlkit.parse(text).unwrap()
    assert table["version"] == 1
    assert not {"corrections", "domain", "parameter"} & set(table)
    found = read_record(written(tmp_path, text), rig.axis("shoulder"))
    assert (found.corrections, found.domain, found.parameters) == (None, None, ())


def test_a_curve_is_withdrawn_without_loss(rig: Rig, curve: CalibrationRecord, tmp_path: Path) -> None:
    path = written(tmp_path, record_text(curve, rig.axis("shoulder").unit))
    before = read_record(path, rig.axis("shoulder"))
    path.write_text(withdrawn_text(path, "slipped"), encoding="utf-8")
    assert read_record(path, rig.axis("shoulder")) == replace(before, withdrawn="slipped")


TAIL = "Move the file away; the other records stay usable."
DAMAGE: list[tuple[dict[str, Any], str]] = [
    (
        {"corrections": {"first": 400.0, "step": 1100.5, "values": [0.0]}},
        "its table of corrections: its number of nodes is 1, 2 to 65 are wanted. ",
    ),
    (
        {"corrections": {"first": 0.0, "step": 1.0, "values": [0.0, 9.0], "period": 5.0}},
        "its table of corrections: 2 steps of 1 counts do not make up its period of 5 counts. ",
    ),
    (
        {"corrections": {"first": 400.0, "step": 100.0, "values": [0.0, 1.0, -8.0]}},
        "its table of corrections: from code 500 to 600 the curve stands still or turns back, so that one "
        "position would have several codes. ",
    ),
    ({"domain": [900.0, 100.0]}, "its calibrated codes: they run from 900 to 100. "),
    ({"domain": [900.0]}, "it is no whole calibration record. "),
    ({"corrections": {"first": 400.0, "values": [0.0, 1.0]}}, "it is no whole calibration record. "),
    ({"parameter": [{"name": "load"}]}, "it is no whole calibration record. "),
    ({"version": 3}, "it is of version 3, versions 1 and 2 are read here. "),
]


@pytest.mark.parametrize(("change", "said"), DAMAGE)
def test_a_damaged_curve_is_refused_with_a_sentence(
    rig: Rig, curve: CalibrationRecord, tmp_path: Path, change: dict[str, Any], said: str
) -> None:
    table = tomlkit.parse(record_text(curve, rig.axis("shoulder").unit)).unwrap() | change
    path = written(tmp_path, tomlkit.dumps(table | {"sum": sum_of(table)}, sort_keys=False))
    with pytest.raises(DataError) as caught:
        read_record(path, rig.axis("shoulder"))
    assert str(caught.value) == f"{path}: {said}{TAIL}"


def test_a_correction_changed_by_hand_is_seen(rig: Rig, curve: CalibrationRecord, tmp_path: Path) -> None:
    text = record_text(curve, rig.axis("shoulder").unit)
    assert "1100.5" in text
    path = written(tmp_path, text.replace("1100.5", "1100.6"))
    with pytest.raises(DataError, match="its sum does not fit what stands in it"):
        read_record(path, rig.axis("shoulder"))


BEHIND = RecordError(
    dof=7.0,
    structure=0.0021,
    structure_dof=5,
    visits=0.0017,
    reference=ReferenceUncertainty(per_point=0.001, per_place=0.002, shared=0.003, scale=0.004),
)


@pytest.mark.parametrize(
    "behind", [BEHIND, replace(BEHIND, dof=math.inf), replace(BEHIND, reference=None)], ids=range(3)
)
def test_what_stands_behind_the_interval_is_read_back(
    rig: Rig, curve: CalibrationRecord, tmp_path: Path, behind: RecordError
) -> None:
    axis = rig.axis("shoulder")
    found = read_record(written(tmp_path, record_text(replace(curve, error=behind), axis.unit)), axis).error
    assert found is not None
    assert (found.dof, found.structure_dof) == (behind.dof, 5)
    assert (found.structure, found.visits) == pytest.approx((0.0021, 0.0017), rel=1e-14)
    assert (found.reference is None) == (behind.reference is None)
    assert found.same_reference(behind) == (
        behind.reference is not None
    )  # degrees and back lose a last digit
    assert (found.reference is None) or found.reference.scale == 0.004


def test_an_old_record_does_not_say_it_and_counts_its_points(
    rig: Rig, curve: CalibrationRecord, tmp_path: Path
) -> None:
    axis = rig.axis("shoulder")
    points = curve.points * 4
    text = record_text(replace(curve, points=points), axis.unit)
    assert "[error]" not in text
    found = read_record(written(tmp_path, text), axis)
    assert (found.error, found.dof) == (None, 6.0)


def test_degrees_of_freedom_below_zero_are_refused(
    rig: Rig, curve: CalibrationRecord, tmp_path: Path
) -> None:
    axis = rig.axis("shoulder")
    path = written(tmp_path, record_text(replace(curve, error=replace(BEHIND, dof=-1.0)), axis.unit))
    with pytest.raises(DataError, match="its degrees of freedom: they are -1, more than 0 are needed"):
        read_record(path, axis)
