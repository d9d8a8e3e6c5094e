"""Names and texts of a rig, made safe for file names, identifiers and comments of any language."""

import re
from collections.abc import Iterable
from hashlib import sha256
from unicodedata import normalize

LONGEST_STEM = 22
"""C99 promises 31 significant characters of an external name (5.2.4.1); `_position` takes 9."""

_STEM = re.compile(r"[a-z][a-z0-9]*(?:_[a-z0-9]+)*")
_KEYWORDS = (
    "auto|break|case|char|class|const|continue|default|delete|do|double|else|enum|extern|false|float|for|"
    "goto|if|inline|int|long|main|new|register|restrict|return|short|signed|sizeof|static|struct|switch|"
    "this|true|typedef|union|unsigned|void|volatile|while|bool"
)
_STANDARD_HEADERS = (
    "assert|complex|ctype|errno|fenv|float|inttypes|iso646|limits|locale|math|setjmp|signal|stdarg|"
    "stdbool|stddef|stdint|stdio|stdlib|string|tgmath|time|wchar|wctype"
)
_DEVICE_FILES = r"con|prn|aux|nul|com\d|lpt\d"
_TAKEN = re.compile(f"{_KEYWORDS}|{_STANDARD_HEADERS}|{_DEVICE_FILES}")
_OWN_ENDINGS = ("_vectors", "_selftest")
_SPELT_OUT = str.maketrans(
    {
        "\u00b1": "+/-",  # plus-minus
        "\u00b0": "deg",  # degree
        "\u00b5": "u",  # micro
        "\u03bc": "u",  # Greek mu
        "\u03a9": "ohm",  # Greek capital omega, to which the ohm sign decomposes
        "\u00d7": "x",  # times
        "\u00b7": ".",  # middle dot
        "\u2013": "-",  # en dash
        "\u2014": "-",  # em dash
        "\u2212": "-",  # minus
        "\u2018": "'",
        "\u2019": "'",
        "\u201c": "'",
        "\u201d": "'",
        "\u00df": "ss",
        "\u00e6": "ae",
        "\u00c6": "AE",
        "\u00f8": "o",
        "\u00d8": "O",
        "\u0142": "l",
        "\u0141": "L",
        '"': "'",
        "\\": "/",
    }
)


def is_stem(text: str) -> bool:
    """Whether a text can be used as a stem just as it is.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    bool
        True for what `stem_of` makes.

    References
    ----------
    c99

    Examples
    --------
    The name of a standard header would hide that header:

    >>> is_stem("shoulder"), is_stem("math")
    (True, False)
    """
    fits = len(text) <= LONGEST_STEM and not _reserved(text)
    return fits and _STEM.fullmatch(text) is not None


def stem_of(name: str) -> str:
    """Stem of file names and identifiers, made from any name.

    Parameters
    ----------
    name : str
        Name of a rig or axis, in any script, possibly empty or hostile.

    Returns
    -------
    str
        Small letters, digits and single underscores, at most 22 characters, starting with a letter;
        no keyword, standard header or device file. The same name gives the same stem.

    Notes
    -----
    A name of which nothing is left, or which is too long, carries six digits of its hash, so that two
    such names stay apart. Different names may still share a stem (`"a b"`, `"a-b"`): see `stems`.

    References
    ----------
    c99

    Examples
    --------
    A name cannot leave its folder, nor hide a header of the compiler:

    >>> stem_of("../Camera pan"), stem_of("math"), stem_of("2nd lift")
    ('camera_pan', 'axis_math', 'axis_2nd_lift')
    """
    clean = re.sub(r"[^a-z0-9]+", "_", ascii_text(name).lower()).strip("_")
    if not clean:
        return f"axis_{_digest(name)}"
    if not clean[0].isalpha() or _reserved(clean):
        clean = f"axis_{clean}"
    if clean.endswith(_OWN_ENDINGS):
        clean = f"{clean}_axis"
    return clean if len(clean) <= LONGEST_STEM else _shortened(clean, name)


def stems(names: Iterable[str]) -> dict[str, str]:
    """One stem a name, no two the same.

    Parameters
    ----------
    names : iterable of str
        Names of all axes of a rig, in the order of the file.

    Returns
    -------
    dict of str to str
        Name to stem, in the same order.

    Notes
    -----
    The first to ask keeps the plain stem; a later one that would share it gets its hash added.

    References
    ----------
    derived

    Examples
    --------
    Two names that differ only in a sign stay two files:

    >>> given = stems(["arm a", "arm-a"])
    >>> given["arm a"], given["arm-a"] == given["arm a"]
    ('arm_a', False)
    """
    given: dict[str, str] = {}
    for name in dict.fromkeys(names):
        stem, salt = stem_of(name), name
        while stem in given.values():
            stem, salt = _shortened(stem_of(name), salt), f"{salt}+"
        given[name] = stem
    return given


def ascii_text(text: str) -> str:
    """A text in printable ASCII on one line; what cannot be spelt becomes an underscore.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        The text with accents dropped, signs spelt out and every white space a single blank.

    Notes
    -----
    The double quote becomes a single one and the backslash a slash, so that the text can stand in a
    quoted string as it is.

    References
    ----------
    derived

    Examples
    --------
    The signs of a workshop stay readable:

    >>> ascii_text("Größe ± 3°")
    'Grosse +/- 3deg'
    """
    spelt = normalize("NFKD", text.translate(_SPELT_OUT)).translate(_SPELT_OUT)
    kept = "".join(_ascii_sign(sign) for sign in spelt)
    return " ".join(kept.split())


def comment_text(text: str) -> str:
    """A text that can neither end nor open a comment, nor form a trigraph.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        Printable ASCII on one line, with a blank between the signs that would mean something.

    References
    ----------
    c99

    Examples
    --------
    A name that tries to end the comment stays inside it:

    >>> comment_text("arm */ int x; ??/")
    'arm * / int x; ? ?/'
    """
    apart = re.sub(r"\*(?=/)", "* ", ascii_text(text))
    apart = re.sub(r"/(?=[*/])", "/ ", apart)
    return re.sub(r"\?(?=\?)", "? ", apart)


def _reserved(stem: str) -> bool:
    """Whether a stem is taken by the language, the system, or the files made beside it."""
    return _TAKEN.fullmatch(stem) is not None or stem.endswith(_OWN_ENDINGS)


def _ascii_sign(sign: str) -> str:
    """One sign of a decomposed text: kept, dropped (an accent), a blank, or an underscore."""
    if " " <= sign <= "~":
        return sign
    if sign.isspace() or ord(sign) < 32:
        return " "
    return "" if "\u0300" <= sign <= "\u036f" else "_"


def _digest(name: str) -> str:
    """Six digits that tell names apart."""
    return sha256(name.encode("utf-8", "surrogatepass")).hexdigest()[:6]


def _shortened(stem: str, name: str) -> str:
    """A stem with the digits of its name, within the longest length."""
    return f"{stem[: LONGEST_STEM - 7].rstrip('_')}_{_digest(name)}"
