"""The text of a new rig file: what was answered as it was answered, every default marked as assumed."""

from collections.abc import Iterator
from dataclasses import dataclass

from anglewright.jobs.answers import Answers, Reach, held_mark, held_reach
from anglewright.jobs.assumed import assumed, default_lines, remarked, toml_key, toml_value, waiting
from anglewright.jobs.sorts import Sort
from anglewright.jobs.turnedby import Turning
from anglewright.links.fields import Key
from anglewright.rigfile.axisfile import OVER_TRAVEL, PER_POINT, PLAN_KEYS
from anglewright.rigfile.kinds import ROOMS, part_named

_HOW = "say how it is found again"
_ROOM_WORDS = {
    "coupling": "how the sensor's shaft is held",
    "mount": "how its zero is set",
    "wiring": "what lies between sensor and controller",
    "converter": "what the controller reads it with",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A rig file in the making: the answers, the sort of sensor, and what turns it.

    `turned_by_choice` is True where nobody has said what turns the sensor. `reading` is what it should read
    at its mark, None before that is known; `said` is what the drive means, in words.
    """

    answers: Answers
    sort: Sort
    turning: Turning
    turned_by_choice: bool = False
    reading: float | None = None
    said: str = ""

    @property
    def reach(self) -> Reach:
        """Both ends of the motion."""
        return held_reach(self.answers.low, self.answers.high, endless=self.answers.endless)

    @property
    def text(self) -> str:
        """The whole file, TOML."""
        lines = [
            "# What says 'assumed' was not asked: common practice, no source. Mend the value; where the line",
            "# begins with a hash, take the hash away too.",
            'rig = "my rig"',
            "",
            *self._axis(),
            *self._marks(),
        ]
        for room in ROOMS:
            lines += ["", self._header(f".{room}"), *self._room(room)]
        return "\n".join([*lines, "", self._header(".plan"), *self._plan()]) + "\n"

    def _header(self, table: str = "") -> str:
        return f"[axis.{toml_key(self.answers.moves)}{table}]"

    def _axis(self) -> list[str]:
        answers, (low, high), unit = self.answers, self.reach.numbers, self.reach.unit
        motion = {"from": answers.low, "to": answers.high} | ({"endless": True} if answers.endless else {})
        beyond = OVER_TRAVEL * (high - low)
        stops = f'stops = {{ low = "{low - beyond:.9g} {unit}", high = "{high + beyond:.9g} {unit}" }}'
        return [
            self._header(),
            f"motion = {toml_value(motion)}",
            f"need = {{ error = {toml_value(answers.error)} }}",
            assumed("when_unpowered", "drops", "the worst of holds, sinks, drops and springs"),
            *([] if answers.endless else [waiting(stops, "where the mechanism itself ends")]),
        ]

    def _marks(self) -> Iterator[str]:
        """The places that were named; else one at the low end, or amid an endless turn."""
        yield from ("", self._header(".marks"))
        within = PER_POINT[self.reach.low.kind]
        given = [held_mark(mark, self.reach) for mark in self.answers.marks]
        for name, at in given:
            mark = toml_value({"at": at, "within": within, "how": _HOW})
            yield remarked(f"{toml_key(name)} = {mark}", "assumed: how well the axis stands there")
        if not given:
            (low, high), unit = self.reach.numbers, self.reach.unit
            endless = self.answers.endless
            name, place = ("ahead", (low + high) / 2.0) if endless else ("stow", low)
            table = {"at": f"{place:.9g} {unit}", "within": within, "how": _HOW}
            yield assumed(name, table, "a place that can be found again")

    def _room(self, room: str) -> Iterator[str]:
        """The table of one room: its kind, what is given or needed, and every default as a comment."""
        if room == "drive":
            yield from self._drive()
            return
        kind, given = self.sort.kind_in(room), self.sort.given(room)
        keys = part_named(room, kind).KEYS
        if room == "sensor":
            yield f"kind = {toml_value(kind)}"
        else:
            yield assumed("kind", kind, _ROOM_WORDS[room])
        meanings = {key.name: key.meaning for key in keys}
        for name, value in given.items():
            yield assumed(name, value, f"{meanings[name]} (as in '{self.sort.row}')")
        needed = {key.name: key.example for key in keys if key.required and key.name not in given}
        yield from (assumed(name, value, meanings[name]) for name, value in needed.items())
        if room == "mount" and self.reading is not None and "reading" not in given:
            value = f"{100.0 * self.reading:.4g} %"
            yield assumed("reading", value, "what it reads there, centred between the stops")
            needed["reading"] = value
        yield from default_lines(keys, given={*given, *needed})

    def _drive(self) -> Iterator[str]:
        """The table of the drive; drives in a row each have a table of their own."""
        table = self.turning.table
        said = f"assumed: {self.said}" if self.turned_by_choice and self.said else self.said
        kind = f"kind = {toml_value(table['kind'])}"
        yield remarked(kind, said) if said else kind
        if not self.turning.stages:
            yield from self._keys(self.turning)
            return
        for stage in self.turning.stages:
            yield from ("", f"[{self._header('.drive.stages')}]", f"kind = {toml_value(stage.table['kind'])}")
            yield from self._keys(stage)

    def _keys(self, turning: Turning) -> Iterator[str]:
        """The keys of one drive beside its kind, and its defaults."""
        keys = turning.part.KEYS
        meanings = {key.name: key.meaning for key in keys}
        for name, value in turning.table.items():
            line = f"{toml_key(name)} = {toml_value(value)}"
            if name == "kind":
                continue
            told = name in turning.assumed or self.turned_by_choice
            yield remarked(line, f"assumed: {meanings[name]}") if told else line
        yield from default_lines(keys, given=turning.table)

    def _plan(self) -> list[str]:
        """The plan of the calibration, as the program assumes it."""
        reference = {
            "per_point": PER_POINT[self.reach.low.kind],
            "shared": f"0 {self.reach.unit}",
            "scale": "0 %",
        }
        keys: tuple[Key, ...] = PLAN_KEYS
        return [
            *default_lines(keys),
            waiting(f"reference = {toml_value(reference)}", "error of the reference"),
        ]
