"""Contrast by the formula of WCAG 2.2; colour-vision deficiencies by the matrices of Machado et al., 2009."""

import math
import re
from itertools import combinations, pairwise

import pytest

from anglewright.report.tokens import COLOURS, PAIRS, TYPE_PX, Pair, tokens_css

Triple = tuple[float, float, float]

# Machado, Oliveira and Fernandes 2009, severity 1.0, for linear sRGB. From memory; each row must keep grey
# grey, so it adds up to one, which is checked below.
DEFICIENCIES: dict[str, tuple[Triple, Triple, Triple]] = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
SRGB_TO_XYZ = (  # IEC 61966-2-1, D65; from memory
    (0.4124, 0.3576, 0.1805),
    (0.2126, 0.7152, 0.0722),
    (0.0193, 0.1192, 0.9505),
)
TOLD_APART = 10.0  # CIE 1976 difference; one that is just noticeable is about 2.3 (Mahy 1994, from memory)


def linear(colour: str) -> Triple:
    """Linear light of red, green and blue, 0 to 1."""
    parts = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return red, green, blue


def through(matrix: tuple[Triple, Triple, Triple], light: Triple) -> Triple:
    """A matrix times a colour, kept between 0 and 1."""
    one, two, three = (sum(a * b for a, b in zip(row, light, strict=True)) for row in matrix)
    return one, two, three


def contrast(one: str, two: str) -> float:
    """WCAG 2.2, definition of contrast ratio."""
    lights = sorted(0.2126 * r + 0.7152 * g + 0.0722 * b for r, g, b in (linear(one), linear(two)))
    return (lights[1] + 0.05) / (lights[0] + 0.05)


def lab(light: Triple) -> Triple:
    """CIE 1976 L*, a*, b* of linear sRGB under D65."""
    white = (0.9505, 1.0, 1.089)
    kept = tuple(min(max(part, 0.0), 1.0) for part in light)
    xyz = through(SRGB_TO_XYZ, (kept[0], kept[1], kept[2]))
    x, y, z = (
        t ** (1 / 3) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116
        for t in (part / of for part, of in zip(xyz, white, strict=True))
    )
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def test_the_formula_of_contrast_gives_the_published_extremes() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)  # WCAG 2.2: ratios range from 1 to 21
    assert contrast("#777777", "#ffffff") < 4.5 < contrast("#767676", "#ffffff")  # WCAG techniques, memory


def test_the_matrices_keep_grey_grey() -> None:
    sums = [sum(row) for matrix in DEFICIENCIES.values() for row in matrix]
    assert sums == pytest.approx([1.0] * 9, abs=2e-6)


@pytest.mark.parametrize("screen", ["light", "dark"])
@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: f"{pair.front} on {pair.ground}")
def test_every_pair_on_the_page_has_contrast_enough(pair: Pair, screen: str) -> None:
    front, ground = (getattr(COLOURS[name], screen) for name in (pair.front, pair.ground))
    assert contrast(front, ground) >= pair.least


@pytest.mark.parametrize("screen", ["light", "dark"])
@pytest.mark.parametrize("eye", ["", *DEFICIENCIES])
def test_copper_verdigris_and_slate_can_be_told_apart_by_every_eye(eye: str, screen: str) -> None:
    lights = [linear(getattr(COLOURS[name], screen)) for name in ("copper", "verdigris", "slate")]
    seen = [lab(through(DEFICIENCIES[eye], light) if eye else light) for light in lights]
    assert min(math.dist(*pair) for pair in combinations(seen, 2)) > TOLD_APART


def test_each_token_stands_once_for_light_and_once_for_dark() -> None:
    css = tokens_css()
    for name, colour in COLOURS.items():
        assert re.findall(rf"--{name}:(#\w+);", css) == [colour.light, colour.dark]


def test_dark_colours_are_for_the_screen_alone() -> None:
    assert "@media screen and (prefers-color-scheme:dark)" in tokens_css()


def test_captions_are_the_smallest_type() -> None:
    sizes = list(TYPE_PX.values())
    assert sizes[0] == 13  # LOOK: 13 px at the least
    assert all(low < high for low, high in pairwise(sizes))
