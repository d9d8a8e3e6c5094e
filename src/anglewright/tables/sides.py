"""Words for the side from which a place was reached, and those that leave open which side they mean."""

_UP = (
    *("up", "rising", "auf", "rauf", "hoch", "aufwärts", "aufwaerts", "steigend"),
    *("monte", "montée", "montee", "montant", "sube", "subida", "subiendo", "sale", "salita"),
)
_DOWN = (
    *("down", "falling", "ab", "runter", "abwärts", "abwaerts", "fallend"),
    *("descend", "descente", "descendant", "baja", "bajada", "bajando", "scende", "discesa"),
)
WORDS = frozenset({*_UP, *_DOWN})
"""Words that say a side, in small letters."""

SIDES = {
    **dict.fromkeys(("1", "+1", *_UP), 1),
    **dict.fromkeys(("-1", *_DOWN), -1),
    **dict.fromkeys(("0", "", "unknown"), 0),
}
"""1 for a place reached from below, -1 from above, 0 where that is not known, by what a cell holds."""

NAMES = ("richtung", "seite", "sens", "sentido", "direcci", "verso", "way", "dir", "sweep")
"""First words of names of columns that may tell a side and are not taken for one by their name."""

OPEN = frozenset(
    {
        *("hin", "her", "vor", "zurück", "zurueck", "forth", "forward", "back", "backward", "out", "in"),
        *("cw", "ccw", "left", "right", "links", "rechts", "aller", "retour", "ida", "vuelta", "+", "-"),
    }
)
"""Words of ways that do not say which of them is the positive one."""
