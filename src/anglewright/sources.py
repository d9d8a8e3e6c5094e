"""Where each formula and number comes from: a key, a title, an edition, a clause, a kind."""

from dataclasses import dataclass
from enum import Enum


class SourceKind(Enum):
    """How far a source can be trusted and looked up."""

    STANDARD = "standard"
    BOOK = "book"
    DATA_SHEET = "data sheet"
    PRACTICE = "common practice, no source"
    MEMORY = "from memory"
    DERIVED = "derived here"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One entry of the register."""

    key: str
    title: str
    kind: SourceKind
    edition: str = ""
    clause: str = ""

    def __str__(self) -> str:
        """The entry as a reader would cite it."""
        parts = [self.title, self.edition, self.clause]
        cited = ", ".join(part for part in parts if part)
        plain = self.kind in (SourceKind.PRACTICE, SourceKind.DERIVED)
        return cited if plain or self.kind is SourceKind.STANDARD else f"{cited} ({self.kind.value})"


def _register(*entries: Source) -> dict[str, Source]:
    return {entry.key: entry for entry in entries}


SOURCES: dict[str, Source] = _register(
    Source(key="practice", title="common practice, no source", kind=SourceKind.PRACTICE),
    Source(key="derived", title="derived in this project's documents", kind=SourceKind.DERIVED),
    Source(
        key="gum",
        title="JCGM 100, Guide to the expression of uncertainty in measurement",
        edition="2008",
        kind=SourceKind.STANDARD,
    ),
    Source(
        key="gum-h3",
        title="JCGM 100, Guide to the expression of uncertainty in measurement",
        edition="2008",
        clause="H.3 calibration of a thermometer",
        kind=SourceKind.STANDARD,
    ),
    Source(
        key="gum-quantisation",
        title="JCGM 100, Guide to the expression of uncertainty in measurement",
        edition="2008",
        clause="F.2.2.1 resolution of a digital indication",
        kind=SourceKind.STANDARD,
    ),
    Source(
        key="jcgm101",
        title="JCGM 101, Propagation of distributions using a Monte Carlo method",
        edition="2008",
        kind=SourceKind.STANDARD,
    ),
    Source(
        key="iec60393",
        title="IEC 60393-1, Potentiometers for use in electronic equipment",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="iso54",
        title="ISO 54, Cylindrical gears, modules",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="thevenin",
        title="Thevenin's theorem, any textbook of circuit theory",
        kind=SourceKind.BOOK,
    ),
    Source(
        key="slyw038",
        title="Texas Instruments, Analog engineer's pocket reference, settling to n bits",
        edition="SLYW038",
        kind=SourceKind.DATA_SHEET,
    ),
    Source(
        key="play-operator",
        title="play (stop-and-drag) operator of hysteresis theory",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="cfr3175",
        title="43 CFR 3175.135(a), hysteresis and repeatability from paired runs",
        kind=SourceKind.STANDARD,
    ),
    Source(
        key="vrci",
        title="VRCI industry standard, terms of precision potentiometers",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="chebyshev",
        title="Chebyshev polynomials by their recurrence, any textbook of numerical mathematics",
        kind=SourceKind.BOOK,
    ),
    Source(key="iso12100", title="ISO 12100, Safety of machinery, risk assessment", kind=SourceKind.MEMORY),
    Source(
        key="iso13849",
        title="ISO 13849-1, Safety-related parts of control systems",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="iec60204",
        title="IEC 60204-1, Electrical equipment of machines",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="c99",
        title="ISO/IEC 9899, Programming languages, C",
        edition="1999",
        clause="5.2.1.1 trigraphs, 5.2.4.1 translation limits, 6.4.9 comments, 7.1.3 reserved names",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="iec60062",
        title="IEC 60062, Marking codes for resistors and capacitors",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="si-brochure",
        title="The International System of Units (SI), brochure of the BIPM",
        edition="9th edition, 2019",
        clause="5.4.4 formatting numbers",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="gum-g",
        title="JCGM 100, Guide to the expression of uncertainty in measurement",
        edition="2008",
        clause="annex G, degrees of freedom and levels of confidence",
        kind=SourceKind.STANDARD,
    ),
    Source(
        key="lawson-hanson",
        title="Lawson and Hanson, Solving least squares problems",
        edition="1995",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="alternation",
        title="Chebyshev's alternation theorem, any textbook of approximation",
        kind=SourceKind.BOOK,
    ),
    Source(
        key="iec61298",
        title="IEC 61298-2, Process measurement and control devices, tests under reference conditions",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="esl",
        title="Hastie, Tibshirani and Friedman, The Elements of Statistical Learning",
        edition="2nd, 2009",
        clause="7.10.1, cross-validation and the one-standard-error rule",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="huber",
        title="Huber, Robust Statistics",
        edition="1981",
        clause="M-estimates of a location and of a regression",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="draper-smith",
        title="Draper and Smith, Applied Regression Analysis",
        edition="3rd, 1998",
        clause="3.2, inverse regression",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="fieller",
        title="Fieller, Some problems in interval estimation",
        edition="1954",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="york",
        title="York, Evensen, Lopez Martinez and De Basabe Delgado, Unified equations for the slope, "
        "intercept, and standard errors of the best straight line",
        edition="2004",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="iglewicz",
        title="Iglewicz and Hoaglin, How to detect and handle outliers",
        edition="1993",
        clause="modified z score above 3.5",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="atmega-adc",
        title="ATmega169P and ATmega644A data sheets, analogue input: 14 pF, best at 10 kohm or less",
        kind=SourceKind.DATA_SHEET,
    ),
    Source(
        key="iso606",
        title="ISO 606, Short-pitch transmission precision roller and bush chains, chain sprockets",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="iso5296",
        title="ISO 5296, Synchronous belt drives, belts and pulleys",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="freudenstein",
        title="Norton, Design of machinery, position of the four-bar linkage (Freudenstein's equation)",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="universal-joint",
        title="angle of the driven shaft of a single universal joint, catalogues of makers of joint shafts",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="eccentricity",
        title="error of an eccentric scale read by one head: exact geometry; shortcut of encoder makers, "
        "412.5 arcsec mm/um times eccentricity over diameter",
        kind=SourceKind.DATA_SHEET,
    ),
    Source(
        key="illinois",
        title="Dowell and Jarratt, A modified regula falsi method for computing the root of an equation",
        edition="BIT 11, 1971",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="astm-b258",
        title="ASTM B258, Standard nominal diameters and areas of solid round wires used as conductors",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="potentiometer-handbook",
        title="The potentiometer handbook (McGraw-Hill), theoretical resolution of a wound track",
        edition="1975",
        kind=SourceKind.BOOK,
    ),
    Source(
        key="typical-sheets",
        title="typical data sheets of parts of the class",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="ten-turn-sheet",
        title="Bourns 3540 and 3541, data sheet of ten-turn potentiometers",
        kind=SourceKind.DATA_SHEET,
    ),
    Source(
        key="precision-sheet",
        title="Novotechnik P-2201, data sheet of a precision potentiometer",
        kind=SourceKind.DATA_SHEET,
    ),
    Source(
        key="iec60617",
        title="IEC 60617, Graphical symbols for diagrams: resistor, capacitor, connector, earth",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="iec60063",
        title="IEC 60063, Preferred number series for resistors and capacitors",
        clause="series E24",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="pair-window",
        title="iC-MU, data sheets of a nonius decoder, windows of 7/8 of half the period",
        kind=SourceKind.DATA_SHEET,
    ),
    Source(
        key="control-delay",
        title="lecture notes of mechatronics: a delay costs 360 f tau degrees, a hold that of half a sample",
        kind=SourceKind.BOOK,
    ),
    Source(
        key="isotonic",
        title="Barlow and others, Statistical inference under order restrictions",
        edition="1972",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="jcgm106",
        title="JCGM 106, The role of measurement uncertainty in conformity assessment",
        edition="2012",
        clause="8.3 guarded acceptance, guard band of one expanded uncertainty",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="iso14253",
        title="ISO 14253-1, Decision rules for verifying conformity or nonconformity with specifications",
        clause="conformity proved, nonconformity proved, neither",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="mardia-jupp",
        title="Mardia and Jupp, Directional Statistics",
        edition="2000",
        clause="2.2 the mean direction and the mean resultant length",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="schwarz",
        title="Schwarz, Estimating the dimension of a model, Annals of Statistics 6",
        edition="1978",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="rfc-3629",
        title="RFC 3629, UTF-8, a transformation format of ISO 10646",
        edition="2003",
        clause="6 byte order mark",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="rfc-8259",
        title="RFC 8259, The JavaScript Object Notation (JSON) data interchange format",
        edition="2017",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="iso-8601",
        title="ISO 8601-1, Date and time: representations for information interchange",
        edition="2019",
        clause="5.4 date and time of day",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="ecma-376",
        title="ECMA-376, Office Open XML file formats, part 1",
        edition="2016",
        clause="18.3 worksheets, 18.8.30 number formats",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="odf-1.3",
        title="OASIS Open Document Format for office applications, part 3",
        edition="1.3, 2021",
        clause="9 tables",
        kind=SourceKind.MEMORY,
    ),
    Source(
        key="montgomery-runger",
        title="Montgomery and Runger, Applied statistics and probability for engineers",
        clause="8 interval of a variance",
        kind=SourceKind.MEMORY,
    ),
)


def cite(key: str) -> str:
    """The source behind a key, as a reader would cite it.

    Raises
    ------
    KeyError
        The key is not in the register; a test holds that none is missing.
    """
    return str(SOURCES[key])
