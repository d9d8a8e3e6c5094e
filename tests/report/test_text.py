from dataclasses import replace

from anglewright.report.document import AxisSheet, ReportDocument
from anglewright.report.text import render_summary


def test_the_summary_says_the_answer_first_in_ten_lines(document: ReportDocument) -> None:
    lines = render_summary(document).splitlines()
    assert lines == [
        "Vine rover: Shoulder reads true to ±1.6 deg; it should be ±1.0 deg",
        "The coupling holds it back: without its play the same parts reach ±0.6 deg. Always approaching "
        "from below does as much today.",
        "Half-widths: data sheet alone ±4.3 deg, zeroed ±2.4 deg, calibrated ±1.6 deg; needed ±1.0 deg.",
        # 0.75², 0.31² of 0.5625 + 0.0961 + 0.0036 + 0.0039 + 0.0001 = 0.6662 deg²: 84 and 14 in a hundred
        "Made of: Play of the coupling 84 %, Linearity of the track 14 %.",
        "Findings: 1 stop, 1 caution, 1 note. First: The play of the coupling makes ±0.75 deg of the ±1.0 "
        "deg that the need allows.",
        "Calibration 2031-05-12-1: Coming down reads 1.5 deg higher than going up.",
        "Do now: Approach every position from below, today.",
        "Codes to expect: 421 at -20 deg, 3674 at 115 deg.",  # worked table of the shoulder without a pull
        "Caution: The arm drops when unpowered: rest it on its lower stop or pin it before you reach in.",
        "From rig.toml, 12 May 2031, simulated data, Anglewright 0.1.",
    ]


def test_a_bare_axis_is_summed_up_too(document: ReportDocument, shoulder: AxisSheet) -> None:
    budget = replace(shoulder.budget, rows=(), bars=())
    bare = replace(
        shoulder, lead="", budget=budget, findings=(), calibration=None, actions=(), card=(), cautions=()
    )
    assert render_summary(replace(document, axes=(bare,), simulated=False)).splitlines() == [
        "Vine rover: Shoulder reads true to ±1.6 deg; it should be ±1.0 deg",
        "Findings: none.",
        "Not calibrated yet.",
        "From rig.toml, 12 May 2031, measured data, Anglewright 0.1.",
    ]


def test_many_axes_still_fit_in_ten_lines(document: ReportDocument, shoulder: AxisSheet) -> None:
    axes = tuple(replace(shoulder, name=f"axis {k}") for k in range(20))
    lines = render_summary(replace(document, axes=axes)).splitlines()
    assert len(lines) == 9
    assert lines[1] == "axis 0 (fails): Shoulder reads true to ±1.6 deg; it should be ±1.0 deg"
    assert lines[7].startswith("And 14 more: axis 6, axis 7")


def test_a_name_cannot_steer_the_terminal_or_add_a_line(document: ReportDocument) -> None:
    text = render_summary(replace(document, rig_name="rover\x1b[2J\nFindings: none"))
    assert text.splitlines()[0].startswith("rover[2JFindings: none: Shoulder")
    assert "\x1b" not in text
