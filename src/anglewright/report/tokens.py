"""The tokens of the look, defined once: colours in light and dark, spaces, sizes; shown as CSS."""

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Colour:
    """One named colour, as ``#rrggbb`` for a light and for a dark screen."""

    light: str
    dark: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two colours that meet on the page and the least contrast that they must have. [1]"""

    front: str
    ground: str
    least: float


TEXT = 4.5  # contrast of text, WCAG 2.2 criterion 1.4.3 [1]
GRAPHICS = 3.0  # contrast of graphics that carry a meaning, WCAG 2.2 criterion 1.4.11 [1]

COLOURS: dict[str, Colour] = {
    "paper": Colour(light="#f6f4ee", dark="#12161a"),  # ground
    "sheet": Colour(light="#fffdf8", dark="#191f24"),  # panels
    "ink": Colour(light="#1d2327", dark="#ece8df"),  # text, ticks of the need
    "soft": Colour(light="#565f66", dark="#a9b1b7"),  # secondary text
    "rule": Colour(light="#d8d3c6", dark="#384047"),  # borders, empty part of a bar
    "hair": Colour(light="#e8e4d9", dark="#272e34"),  # grid
    "copper": Colour(light="#a8481a", dark="#f0a06f"),  # the signal
    "copper-wash": Colour(light="#f5e4d8", dark="#3a2619"),
    "verdigris": Colour(light="#176a5e", dark="#6fcdbb"),  # within the need
    "verdigris-wash": Colour(light="#d6e9e3", dark="#17352f"),
    "slate": Colour(light="#3d4f8a", dark="#a9b7f2"),  # second direction, links, focus
    "slate-wash": Colour(light="#dde2f2", dark="#242c49"),
    "warn": Colour(light="#855600", dark="#efc25c"),  # caution
    "warn-wash": Colour(light="#f7e8c4", dark="#3c2f10"),
    "stop": Colour(light="#a3211b", dark="#ff9a90"),  # stop
    "stop-wash": Colour(light="#f8dcd8", dark="#46201d"),
}

PAIRS: tuple[Pair, ...] = (
    *(
        Pair(front=front, ground=ground, least=TEXT)
        for front in ("ink", "soft", "copper", "verdigris", "slate")
        for ground in ("paper", "sheet")
    ),
    *(Pair(front=front, ground="copper-wash", least=TEXT) for front in ("ink", "soft", "copper", "slate")),
    *(Pair(front=front, ground="verdigris-wash", least=TEXT) for front in ("ink", "verdigris")),
    *(Pair(front=front, ground="verdigris-wash", least=GRAPHICS) for front in ("copper", "slate", "soft")),
    *(Pair(front="ink", ground=ground, least=TEXT) for ground in ("warn-wash", "stop-wash", "slate-wash")),
    Pair(front="slate", ground="slate-wash", least=GRAPHICS),
    *(Pair(front=front, ground="sheet", least=TEXT) for front in ("warn", "stop")),
    *(Pair(front="sheet", ground=ground, least=GRAPHICS) for ground in ("warn", "stop", "slate")),
    *(Pair(front=front, ground="rule", least=GRAPHICS) for front in ("ink", "copper", "verdigris")),
)

SPACES_PX: tuple[int, ...] = (4, 8, 12, 16, 24, 36, 56)
RADIUS_PX = 6  # of sheets [px]
BAR_RADIUS_PX = 2  # of bars [px]
TYPE_PX: dict[str, int] = {"caption": 13, "small": 14, "body": 16, "section": 18, "value": 20, "headline": 28}


def tokens_css() -> str:
    """The tokens as custom properties: light, dark where the reader's system asks for it, light on paper."""
    light, dark = "".join(_colours(dark=False)), "".join(_colours(dark=True))
    return (
        f":root{{color-scheme:light dark;{''.join(_sizes())}{light}}}\n"
        f"@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
    )


def _colours(*, dark: bool) -> Iterator[str]:
    for name, colour in COLOURS.items():
        yield f"--{name}:{colour.dark if dark else colour.light};"


def _sizes() -> Iterator[str]:
    yield from (f"--space-{rank}:{size}px;" for rank, size in enumerate(SPACES_PX, start=1))
    yield from (f"--{name}:{size / 16:g}rem;" for name, size in TYPE_PX.items())
    yield f"--radius:{RADIUS_PX}px;--bar-radius:{BAR_RADIUS_PX}px;"
