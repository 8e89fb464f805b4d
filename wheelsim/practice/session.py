"""A hidden wheel on the bench: predict, read, turn, read again; in the end, beside the best plan and the rule of thumb.

Nothing here prints: ``practice.commands`` puts it in words.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.on_the_way import highest_on_the_way, passed_on_the_way, times_round
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.practice.answers import WAYS, Answer, Guess, Readings
from wheelsim.practice.answers import answer as answered
from wheelsim.practice.faults import Level, hidden_wheel
from wheelsim.practice.handed_over import HandedOver
from wheelsim.practice.hints import Hint, hint_for
from wheelsim.practice.made import Made, PracticeError, Turned, by_sides, turn_words, whole_sides
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.simulated import QUARTER_ROUND, VALVE, Tools
from wheelsim.stand.predict import gather_turns
from wheelsim.units import MM, turns_text
from wheelsim.wheel.parts import SIDES

if TYPE_CHECKING:  # brings in the planner: not before it is needed
    from wheelsim.practice.ending import Ending

MOST_AT_ONCE = 2.0  # most that one command turns a nipple; own choice: further is never turned without a reading [turn]
KINDS = {"gauge": 0, "true": 1, "round": 2, "tension": 3}  # of readings, each with errors of its own


@dataclass(frozen=True, eq=False)
class _Open:
    """A prediction of turns (n,) that no reading has told yet; ``before`` are the readings before turn ``made``."""

    guess: Guess
    turns: Turns
    whole: bool
    before: Readings
    made: int

    def goes_on(self, turns: Turns, whole: bool) -> bool:
        """Whether turns (n,) go on in the same one direction, whole sides or single nipples as these were."""
        signs = set(np.sign(turns)) | set(np.sign(self.turns))
        return whole == self.whole and len(signs - {0.0}) == 1


class Session:
    """One learner with one hidden wheel.

    Parameters
    ----------
    level : Level, int or str
        From the second on; the first is ``which_way``.
    seed : int
        The same level and seed are the same wheel and, reading for reading, the same errors.

    Attributes
    ----------
    case : Case
    moves : list of str
        What was done, as commands that would do it again.
    answers : list of Answer
        To the learner's predictions.

    Raises
    ------
    PracticeError
        If there is no such level or seed.
    """

    def __init__(self, level: Level | int | str, seed: int = 0) -> None:
        self.case = hidden_wheel(level, seed)
        self.wheel, self.limits = self.case.wheel, self.case.limits
        self.state = self.case.state
        self.moves: list[str] = []
        self.answers: list[Answer] = []
        self.made: list[Made] = []
        self.hints = self.folded = self.predictions = 0
        self.peak = float(self.state.tension.max())
        self.passed: dict[int, float] = {}  # spoke: highest tension above what it may have [N]
        self.ending: Ending | None = None
        self._counts = dict.fromkeys(KINDS, 0)
        self._scale = Tools.with_errors(self._errors("meter", 0)).meter_scale
        # What was read last: (kind, key) -> (how many turns made before, value).
        self._last: dict[tuple[str, object], tuple[int, Any]] = {}
        self._guess: Guess | None = None
        self._open: _Open | None = None
        self._tried: set[tuple[bool, bool]] = set()  # (whole side, tightened)
        self._hinted = (-1, 0)
        self._named: Turns | None = None  # the move that the last hint named

    # Readings -------------------------------------------------------------------------------------------------------

    def gauge(self, set_on: str = "right", quarter: bool = False) -> Gauge:
        """The dish gauge set on one face and read on the other, feet at the valve or a quarter round.

        Returns
        -------
        Gauge
            To the tenth of a millimetre; its gap is nought where it fits.
        """
        self._going_on()
        if set_on not in SIDES:
            raise PracticeError(f"gauge {set_on!r}; expected right or left")
        shown = self._tools("gauge").gauge(self.state, QUARTER_ROUND if quarter else VALVE)
        self._note("gauge", bool(quarter), shown)
        self.moves.append("gauge " + set_on + (" quarter" if quarter else ""))
        return Gauge.showing(round(shown / MM, 1) * MM, set_on)

    def dial(self, which: str = "true") -> Floats:
        """The dial at every spoke from a zero at their mean, (n,), to the hundredth. [m]

        ``which`` is "true" (from the side, plus right) or "round" (from below, plus outward).
        """
        self._going_on()
        if which not in ("true", "round"):
            raise PracticeError(f"dial {which!r}; expected true or round")
        shown = self._tools(which).dial(self.state, "lateral" if which == "true" else "radial")
        self._note(which, None, shown)
        self.moves.append(f"dial {which}")
        return np.asarray(np.round(shown / MM, 2) * MM + 0.0, dtype=np.float64)

    def tension(self, spokes: Iterable[int] | None = None) -> dict[int, float]:
        """The meter at some or all spokes: dict of spoke number to tension, to ten newtons. [N]"""
        self._going_on()
        wanted = range(1, self.wheel.n + 1) if spokes is None else sorted({int(k) for k in spokes})
        wrong = [k for k in wanted if not 1 <= k <= self.wheel.n]
        if wrong or not wanted:
            raise PracticeError(f"spoke {wrong[0]}; expected 1 to {self.wheel.n}" if wrong else "no spoke named")
        shown = self._tools("tension").meter(self.state)
        for k in wanted:
            self._note("tension", k, float(shown[k - 1]), settle=False)
        self._settle("tension")
        named = {"": range(self.wheel.n), **{f" {side}": self.wheel.on_side(side) for side in SIDES}}
        which = next((word for word, own in named.items() if [i + 1 for i in own] == list(wanted)),
                     " " + ",".join(map(str, wanted)))
        self.moves.append("tension" + which)
        return {k: round(float(shown[k - 1]), -1) for k in wanted}

    # Predicting and turning -----------------------------------------------------------------------------------------

    def predict(self, way: str, amount: float | None = None, spoke: int | None = None) -> None:
        """Say what the next turn will do, before it is made.

        Parameters
        ----------
        way : str
            "right", "left" (the rim, where it is turned), "out", "in", "tighter", "looser" (the spokes turned)
            or "still".
        amount : float, optional
            By how much. [m] or, of tension, [N]
        spoke : int, optional
            Where; by default where it is turned.
        """
        self._going_on()
        if way not in WAYS:
            raise PracticeError(f"predict {way!r}; expected one of {', '.join(WAYS)}")
        if amount is not None and not (np.isfinite(amount) and amount >= 0):
            raise PracticeError(f"predict {way}: expected an amount that is not negative; the word says the way")
        if way == "still" and amount is not None:
            raise PracticeError("predict still: expected no amount")
        if spoke is not None and not (isinstance(spoke, int) and 1 <= spoke <= self.wheel.n):
            raise PracticeError(f"predict {spoke} {way}: expected a spoke from 1 to {self.wheel.n}")
        self._guess = Guess(way, amount, spoke)
        where = "" if spoke is None else f"{spoke} "
        shown = "" if amount is None else f" {amount if way in ('tighter', 'looser') else amount / MM:.12g}"
        self.moves.append(f"predict {where}{way}{shown}")

    def turn(self, right: float = 0.0, left: float = 0.0, spokes: Mapping[int, float] | None = None) -> Turned:
        """Turn whole sides or single nipples, once round from the valve; plus tightens.

        Returns
        -------
        Turned

        Raises
        ------
        PracticeError
            For what can't be turned, or when nothing was predicted the first time that such a turn is made.
        """
        self._going_on()
        try:
            turns = gather_turns(self.wheel, right, left, spokes)
        except ValueError as error:
            raise PracticeError(str(error)) from None
        if not np.isfinite(turns).all() or not turns.any():
            raise PracticeError("no turn named; expected a fraction of a turn, like 1/4 or -1/8")
        if np.abs(turns).max() > MOST_AT_ONCE:
            raise PracticeError(f"{turns_text(float(np.abs(turns).max()))} turns at once; expected {MOST_AT_ONCE:g} at "
                                "most: a quarter turn, then read again")
        whole = whole_sides(turns, self.wheel, self.case.stuck)
        kinds = [(whole, tighter) for tighter in (False, True) if ((turns > 0) if tighter else (turns < 0)).any()]
        new = [kind for kind in kinds if kind not in self._tried]
        if self._guess is None and new:
            raise PracticeError(f"predict first: you have not {'tightened' if new[0][1] else 'loosened'} "
                                f"{'a whole side' if whole else 'single nipples'} here before; what will it do? "
                                f"predict {' | '.join(WAYS)}")
        seized = tuple(k for k in sorted(self.case.stuck) if turns[k - 1])
        turns[[k - 1 for k in seized]] = 0.0
        self.moves.append(turn_words(right, left, spokes))
        if not turns.any():
            return Turned(turns, seized, tuple(view(self.state).slack))
        self._tried.update(kinds)
        return self._made(turns, whole, seized)

    def _made(self, turns: Turns, whole: bool, seized: tuple[int, ...]) -> Turned:
        guess, self._guess = self._guess, None
        try:
            after = equilibrium(self.wheel, self.state.turns + turns, self.state.own_shape, start=self.state)
        except Unstable:
            self.folded += 1
            self._guess = guess  # nothing was turned, so the prediction still stands
            return Turned(np.zeros_like(turns), seized, tuple(view(self.state).slack), folded=True)
        self.peak = max(self.peak, float(highest_on_the_way(self.state, after, turns).max()))
        passed = passed_on_the_way(self.case.state.tension, self.limits.max_tension, self.state, after, turns)
        for spoke, tension in passed.items():
            self.passed[spoke] = max(self.passed.get(spoke, 0.0), tension)
        if guess is None and self._open is not None and self._open.goes_on(turns, whole):
            # Turned further the same way before a reading: the prediction counts for the sum.
            self._open = replace(self._open, turns=self._open.turns + turns)
        else:
            self._leave_open()
        if guess is not None:
            self.predictions += 1
            self._open = _Open(guess, turns, whole, dict(self._last), len(self.made))
        self.made.append(Made(turns, whole, sum(self._counts.values())))
        self.state = after
        return Turned(turns, seized, tuple(view(after).slack))

    # Help and the end -----------------------------------------------------------------------------------------------

    def hint(self) -> Hint:
        """What to think of next, by its cause; asked again of the same wheel, where and what to turn."""
        self._going_on()
        at, times = self._hinted
        times = times + 1 if at == len(self.made) else 0
        self._hinted = (len(self.made), times)
        self._named = None
        self.hints += 1
        self.moves.append("hint")
        found = hint_for(self.state, self.limits, self.case.stuck, self.case.state.tension, plainly=times > 0)
        self._named = found.turns
        if found.cause == "within" and (self.passed or self.folded):
            found = replace(found, words="It reads within every limit now, but on the way a limit was passed or the "
                                         "wheel folded: that does not come back. Hand it over and start another.")
        return found

    def apply_hint(self) -> Turned:
        """Make the move that the last hint named, as ``turn`` would.

        Raises
        ------
        PracticeError
            When no hint has named one since the last turn, and as ``turn`` does.
        """
        self._going_on()
        if self._named is None or self._hinted[0] != len(self.made):
            raise PracticeError("apply: no hint has named a turn of this wheel as it stands; expected hint, and hint "
                                "again, before it")
        return self.turn(**by_sides(self._named, self.wheel))

    def finish(self, reject: bool = False) -> "Ending":
        """Hand the wheel over as done, or back as one that turning can't mend: an ``Ending``."""
        self._going_on()
        from wheelsim.practice.ending import ending_of  # brings in the planner: not before it is needed

        self._leave_open()
        self.moves.append("reject" if reject else "done")
        self.ending = ending_of(self.handed_over(), reject)
        return self.ending

    def handed_over(self) -> HandedOver:
        """The wheel as it stands and the work on it."""
        return HandedOver(self.case, self.limits, self.state, tuple(self.made), tuple(self.answers), dict(self.passed),
                          self.peak, self.passes, self.folded, self.predictions, self.hints, self.meter_scale,
                          self.read_with_meter)

    @property
    def guess(self) -> Guess | None:
        """The prediction of the next turn, a ``Guess``, or None."""
        return self._guess

    @property
    def meter_scale(self) -> tuple[float, float]:
        """What the meter shows of what there is, on the right and on the left side's spokes."""
        return self._scale

    @property
    def read_with_meter(self) -> bool:
        """Whether the meter was used at all."""
        return self._counts["tension"] > 0

    @property
    def read_since_turn(self) -> set[str]:
        """Kinds of readings taken since the last turn."""
        return {kind for (kind, _), (made, _) in self._last.items() if made == len(self.made)}

    @property
    def passes(self) -> int:
        """Times round the wheel: one flange in one direction; single nipples turned between two readings together."""
        count, last = 0, None
        group: list[Turns] = []
        for made in self.made:
            if made.whole or made.readings_before != last:
                count += times_round(group, self.wheel)
                group = []
            group.append(made.turns)
            last = None if made.whole else made.readings_before
        return count + times_round(group, self.wheel)

    def _going_on(self) -> None:
        if self.ending is not None:
            raise PracticeError("this wheel is handed over; start another")

    def _errors(self, kind: str, count: int) -> np.random.Generator:
        kinds = {**KINDS, "meter": len(KINDS)}
        return np.random.default_rng([7, self.case.level.number, self.case.seed, kinds[kind], count])

    def _tools(self, kind: str) -> Tools:
        """Tools whose errors hang on the seed and on how often this kind was read before, and on nothing else."""
        self._counts[kind] += 1
        return Tools(self._errors(kind, self._counts[kind]), self._scale)

    def _note(self, kind: str, key: object, value: Floats | float, settle: bool = True) -> None:
        self._last[kind, key] = (len(self.made), value)
        if settle:
            self._settle(kind)

    def _settle(self, kind: str) -> None:
        """Answer the open prediction, if this reading can."""
        if self._open is None:
            return
        one = self._open
        found = answered(one.guess, one.turns, one.whole, one.before, self._last, one.made, kind)
        if found is not None:
            self.answers.append(found)
            self._open = None

    def _leave_open(self) -> None:
        """A prediction that no reading followed: nobody knows."""
        if self._open is not None:
            self.answers.append(Answer(None, f"Of the prediction before ({self._open.guess.way}): nothing was read "
                                             "after it that could tell."))
            self._open = None
