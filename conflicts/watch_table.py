"""Each crossing of a bore by each pass: what was watched, what stops the crew, what stands in the way."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from conflicts.checks import Assessed
from conflicts.faults import Fault
from conflicts.sentences import station_words
from conflicts.site_records import (
    CrossingExtent,
    VarianceInput,
    WatchInput,
    variance_for_gone,
    variance_for_stops,
    variance_for_watch,
)
from conflicts.stop_rules import (
    StopRule,
    bottom_fault,
    bottom_fault_key,
    bottom_is_unknown,
    raised_words,
    stop_fault,
    stops_of_watch,
)
from conflicts.to_watch import ToWatch, crossings_to_watch, place_of_watch, same_place_m
from conflicts.watch_matching import ALL_PASSES, CrossingPlace, passes_to_watch
from locates.local_time import format_moment

LOST_STOP = "Its crossing is not there any more: the stop stands until a variance for that watch is signed."


@dataclass(frozen=True)
class PassWatched:
    """One pass of one crossing: its watches in order of time, those that stop it, the variance for it.

    A watch that set off a stop rule stops the pass until a later one saw it go by with nothing wrong; one
    that saw nothing settles nothing. ``overtaken_by`` is the watch of a pass before this one that came after
    this one was last seen: the passes are made in their order. A depth of the head that was read when it was
    last seen proves nothing where nobody recorded how deep the hole is. A variance excuses what its signer
    was told of.
    """

    pass_made: str
    watches: tuple[WatchInput, ...]
    stopping: tuple[WatchInput, ...]
    excuse: VarianceInput | None
    overtaken_by: WatchInput | None = None

    @property
    def watch(self) -> WatchInput | None:
        """The last watch."""
        return self.watches[-1] if self.watches else None

    @property
    def last_seen(self) -> WatchInput | None:
        """The last watch that saw it go by."""
        return next((one for one in reversed(self.watches) if one.seen), None)

    @property
    def bottomless(self) -> WatchInput | None:
        """The last watch that saw it go by, where a depth was read over a hole of unknown depth."""
        seen = self.last_seen
        return seen if seen is not None and bottom_is_unknown(seen) else None

    @property
    def stops(self) -> list[tuple[StopRule, WatchInput]]:
        """The stop rules that stand, each with the last watch that set it off."""
        found = {rule: watch for watch in self.stopping for rule in stops_of_watch(watch)}
        return list(found.items())

    @property
    def is_settled(self) -> bool:
        """Whether nothing of it stands in the way: seen in its order with nothing that stops, or excused."""
        is_seen = self.watch is not None and self.watch.seen
        return self.excuse is not None or (is_seen and not self.stopping and not self._others)

    @property
    def fault_keys(self) -> tuple[str, ...]:
        """The keys of `faults`."""
        return (*(one.watch_id for one in self.stopping), *self._others)

    @property
    def _others(self) -> tuple[str, ...]:
        """The keys of what stands in its way but stops."""
        after = () if self.overtaken_by is None else (_order_key(self.overtaken_by),)
        return after if self.bottomless is None else (*after, bottom_fault_key(self.bottomless))

    def faults(self, units: str, time_zone: str) -> tuple[Fault, ...]:
        """What stands in its way but that it was not seen, as a variance for it is bound to it."""
        found = [stop_fault(one, units, time_zone) for one in self.stopping]
        if self.overtaken_by is not None:
            when = format_moment(self.overtaken_by.watched_at, time_zone)
            words = f"After it the {self.overtaken_by.pass_made} was seen, {when}."
            found.append(Fault(_order_key(self.overtaken_by), words))
        if self.bottomless is not None:
            found.append(bottom_fault(self.bottomless, units, time_zone))
        return tuple(found)


@dataclass(frozen=True)
class CrossingWatched:
    """A crossing by its place among those to watch, with its passes in order.

    ``excuse`` is the variance for a crossing that is gone as a whole: its passes and its camera.
    """

    place: int
    lies: ToWatch
    passes: tuple[PassWatched, ...]
    excuse: VarianceInput | None = None

    @property
    def first_open(self) -> PassWatched | None:
        """The first pass that is not settled."""
        return next((one for one in self.passes if not one.is_settled), None)


@dataclass(frozen=True)
class StandingStop:
    """A pass of a line of which a stop rule stands; ``is_lost`` where no present crossing is that one."""

    mark_ref: str
    station_m: float
    passed: PassWatched
    is_lost: bool

    def words(self, units: str) -> list[str]:
        """A sentence for each rule: which line, where, which pass, and what has to be done."""
        place = f"{self.mark_ref} at {station_words(self.station_m, units)}, {self.passed.pass_made}"
        left = f" {LOST_STOP}" if self.is_lost else ""
        told = []
        for rule, watch in self.passed.stops:
            raised = raised_words(watch, units)
            told.append(f"{place}: {rule.when} {f'{raised} ' if raised else ''}{rule.then}{left}")
        return told


@dataclass(frozen=True)
class WatchTable:
    """All crossings with their passes, and the watches that belong to none of them.

    ``crossings`` are those that lie there now, ``gone`` those that a release named and that do not.
    ``lost_stops`` are the watches of none that set off a stop rule, each as a pass of its own.
    """

    crossings: tuple[CrossingWatched, ...]
    gone: tuple[CrossingWatched, ...]
    lost: tuple[WatchInput, ...]
    lost_stops: tuple[StandingStop, ...]

    @property
    def rows(self) -> tuple[CrossingWatched, ...]:
        """The crossings in the order of their places."""
        return self.crossings + self.gone

    @property
    def stopped(self) -> list[StandingStop]:
        """Passes of which a stop rule stands unsettled, also where the crossing is not there any more."""
        found = [
            StandingStop(row.lies.mark_ref, row.lies.station_m, one, is_lost=row.lies.is_gone)
            for row in self.rows
            for one in row.passes
            if one.stopping and not one.is_settled
        ]
        return found + [one for one in self.lost_stops if not one.passed.is_settled]

    @property
    def next_open(self) -> tuple[CrossingWatched, PassWatched] | None:
        """What is to be watched next: of the earliest pass that misses a crossing, the first one along."""
        order = [one.pass_made for one in self.rows[0].passes] if self.rows else []
        for name in order:
            for row in self.rows:
                for one in row.passes:
                    if one.pass_made == name and not one.is_settled:
                        return row, one
        return None


def watch_table(assessed: Assessed, pilot_diameter_m: float | None) -> WatchTable:
    """The table of a bore at the moment of its assessment.

    Parameters
    ----------
    assessed : Assessed
    pilot_diameter_m : float or None
        None where it is not recorded: then there is reaming.
    """
    lying, near_m = crossings_to_watch(assessed), same_place_m(assessed)
    watched: dict[tuple[int, str], list[WatchInput]] = {}
    lost = []
    for watch in assessed.site.watches:
        if watch.watched_at > assessed.at:
            continue
        place = place_of_watch(CrossingPlace(watch.mark_id, watch.kind, watch.station_m), lying, near_m)
        if place is None:
            lost.append(watch)
        else:
            held = replace(watch, asked_m=lying[place].required_m)
            watched.setdefault((place, watch.pass_made), []).append(held)
    passes = passes_to_watch(pilot_diameter_m, assessed.scene.inputs.final_diameter_m)
    if assessed.site.passes.reamings or any(
        name not in passes and _stopping(watches) for (_, name), watches in watched.items()
    ):
        # A reamer that is logged went by every line, whatever was planned. A stop in a pass that is not asked
        # for any more stands all the same: that pass was made.
        passes = ALL_PASSES
    rows = [
        _row(assessed, place, one, {name: watched.get((place, name), []) for name in passes})
        for place, one in enumerate(lying)
    ]
    return WatchTable(
        tuple(row for row in rows if not row.lies.is_gone),
        tuple(row for row in rows if row.lies.is_gone),
        tuple(lost),
        tuple(_lost_stop(assessed, one) for one in lost if _stands(one, assessed)),
    )


def standing_stops(assessed: Assessed) -> list[StandingStop]:
    """The passes of which a stop rule stands, whatever passes are asked for: every stop was set off in one.

    Parameters
    ----------
    assessed : Assessed
    """
    return watch_table(assessed, None).stopped


def stop_words(assessed: Assessed) -> tuple[str, ...]:
    """A sentence for each stop rule that stands on a bore.

    Parameters
    ----------
    assessed : Assessed
    """
    units = assessed.scene.inputs.job.show_units
    return tuple(words for one in standing_stops(assessed) for words in one.words(units))


def lost_stops(assessed: Assessed) -> list[WatchInput]:
    """The watches that belong to no crossing and of which a stop rule stands, excused or not.

    Parameters
    ----------
    assessed : Assessed
    """
    return [one.passed.stopping[-1] for one in watch_table(assessed, None).lost_stops]


def _row(
    assessed: Assessed, place: int, lies: ToWatch, watched: Mapping[str, Sequence[WatchInput]]
) -> CrossingWatched:
    """A crossing with its passes; ``watched`` has the watches of each pass, the passes in their order."""
    passes: list[PassWatched] = []
    before: WatchInput | None = None
    for name, watches in watched.items():
        passed = PassWatched(name, tuple(watches), _stopping(watches), None)
        seen = passed.last_seen
        if seen is not None and before is not None and seen.watched_at < before.watched_at:
            passed = replace(passed, overtaken_by=before)
        elif seen is not None:
            before = seen
        excuse = variance_for_watch(assessed.site, lies, name, passed.fault_keys, assessed.at)
        passes.append(replace(passed, excuse=excuse))
    whole = None
    if lies.is_gone:
        keys = [key for one in passes for key in one.fault_keys]
        whole = variance_for_gone(assessed.site, lies, keys, assessed.at)
    if whole is not None:
        passes = [replace(one, excuse=one.excuse or whole) for one in passes]
    return CrossingWatched(place, lies, tuple(passes), whole)


def _stands(lost: WatchInput, assessed: Assessed) -> bool:
    """Whether a lost watch set off a stop rule, and the pass was not seen again at that place since."""
    if not stops_of_watch(lost):
        return False
    known = [one for one in assessed.site.watches if one.watched_at <= assessed.at]
    near_m = same_place_m(assessed)
    return not any(
        one.seen
        and (one.mark_id, one.kind, one.pass_made) == (lost.mark_id, lost.kind, lost.pass_made)
        and abs(one.station_m - lost.station_m) <= near_m
        for one in known[known.index(lost) + 1 :]
    )


def _lost_stop(assessed: Assessed, lost: WatchInput) -> StandingStop:
    near_m = same_place_m(assessed)
    place = CrossingExtent(lost.mark_id, lost.kind, lost.station_m - near_m, lost.station_m + near_m)
    excuse = variance_for_stops(assessed.site, place, lost.pass_made, [lost.watch_id], assessed.at)
    passed = PassWatched(lost.pass_made, (lost,), (lost,), excuse)
    return StandingStop(lost.mark_ref, lost.station_m, passed, is_lost=True)


def _stopping(watches: Sequence[WatchInput]) -> tuple[WatchInput, ...]:
    """Those watches of a pass, in order of time, of which a stop rule still stands."""
    found: list[WatchInput] = []
    for watch in watches:
        if watch.seen:
            found = []
        if stops_of_watch(watch):
            found.append(watch)
    return tuple(found)


def _order_key(overtaking: WatchInput) -> str:
    return f"after {overtaking.watch_id}"
