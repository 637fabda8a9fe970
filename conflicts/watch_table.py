"""Each crossing of a bore by each pass: what was watched, what stops the crew, what stands in the way."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from conflicts.checks import Assessed
from conflicts.found_since import found_since
from conflicts.hole_passes import PassInput
from conflicts.logged_since import logged_since
from conflicts.pass_watched import PassWatched, still_stopping
from conflicts.pull_backs import PulledBack
from conflicts.sentences import station_words
from conflicts.site_records import (
    CrossingExtent,
    VarianceInput,
    WatchInput,
    variance_for_gone,
    variance_for_stops,
    variance_for_watch,
)
from conflicts.stop_rules import since_words, stops_of_watch
from conflicts.to_watch import ToWatch, crossings_to_watch, place_of_watch, same_place_m
from conflicts.watch_matching import ALL_PASSES, PILOT, CrossingPlace, passes_to_watch

GONE = "which a release named and which is not there any more"
GONE_MET = "which the drilled hole met and which is not there any more"
LOST_STOP = "Its crossing is not there any more: the stop stands until a variance for that watch is signed."


@dataclass(frozen=True)
class CrossingWatched:
    """A crossing by its place among those to watch, with its passes in order.

    ``excuse`` is the variance for a crossing that is gone as a whole: its passes and its camera.
    """

    place: int
    lies: ToWatch
    passes: tuple[PassWatched, ...]
    excuse: VarianceInput | None = None

    def passed(self, pass_made: str) -> PassWatched | None:
        """One of its passes; None for one that is not asked for."""
        return next((one for one in self.passes if one.pass_made == pass_made), None)

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

    def set_off_after(self, moment: datetime) -> "StandingStop":
        """The same with those watches alone that were signed after a moment."""
        later = tuple(one for one in self.passed.stopping if one.watched_at > moment)
        return replace(self, passed=replace(self.passed, stopping=later))

    def words(self, units: str) -> list[str]:
        """A sentence for each rule: which line, where, which pass, and what has to be done."""
        place = f"{self.mark_ref} at {station_words(self.station_m, units)}, {self.passed.pass_made}"
        left = f" {LOST_STOP}" if self.is_lost else ""
        told = []
        for rule, watch in self.passed.stops:
            since = since_words(watch, units)
            told.append(f"{place}: {rule.when} {f'{since} ' if since else ''}{rule.then}{left}")
        return told


@dataclass(frozen=True)
class WatchTable:
    """All crossings with their passes, and the watches that belong to none of them.

    ``crossings`` are those that lie there now, the plan's and then those of the drilled hole alone; ``gone``
    those that a release named and that do not.
    ``lost_stops`` are the watches of none that set off a stop rule, each as a pass of its own.
    ``closed_out_at`` is None where the bore is not closed out; ``found_since`` tells what speaks against one
    that is, ``logged_since`` of passes and pull-backs logged after it.
    """

    crossings: tuple[CrossingWatched, ...]
    gone: tuple[CrossingWatched, ...]
    lost: tuple[WatchInput, ...]
    lost_stops: tuple[StandingStop, ...]
    closed_out_at: datetime | None = None
    found_since: tuple[str, ...] = ()
    logged_since: str = ""

    @property
    def rows(self) -> tuple[CrossingWatched, ...]:
        """The crossings in the order of their places."""
        return self.crossings + self.gone

    @property
    def stopped(self) -> list[StandingStop]:
        """Passes of which a stop rule stands unsettled, also where the crossing is not there any more.

        Of a bore that is closed out those alone that a watch set off since: what was settled before is done.
        """
        found = [
            StandingStop(row.lies.mark_ref, row.lies.station_m, one, is_lost=row.lies.is_gone)
            for row in self.rows
            for one in row.passes
            if one.stopping and not one.is_settled
        ]
        found += [one for one in self.lost_stops if not one.passed.is_settled]
        if self.closed_out_at is None:
            return found
        since = [one.set_off_after(self.closed_out_at) for one in found]
        return [one for one in since if one.passed.stopping]

    @property
    def drilled(self) -> tuple[CrossingWatched, ...]:
        """Those of the crossings that the drilled hole alone has."""
        return tuple(row for row in self.crossings if row.lies.is_drilled)

    @property
    def pass_names(self) -> tuple[str, ...]:
        """The passes that are asked for anywhere, in their order."""
        asked = {one.pass_made for row in self.rows for one in row.passes}
        return tuple(name for name in ALL_PASSES if name in asked)

    @property
    def next_open(self) -> tuple[CrossingWatched, PassWatched] | None:
        """What is to be watched next: of the earliest pass that misses a crossing, the first one along."""
        for name in self.pass_names:
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
            lies = lying[place]
            held = replace(watch, asked_m=lies.required_m, bottom_now_m=lies.hole_bottom_m)
            watched.setdefault((place, watch.pass_made), []).append(held)
    closed_at = assessed.site.closed_out_at
    passes = _passes_asked(assessed, pilot_diameter_m, lying, watched)
    rows = [
        _row(assessed, place, one, _watches_at(place, one, passes, watched))
        for place, one in enumerate(lying)
    ]
    return WatchTable(
        tuple(row for row in rows if not row.lies.is_gone),
        tuple(row for row in rows if row.lies.is_gone),
        tuple(lost),
        tuple(_lost_stop(assessed, one) for one in lost if _stands(one, assessed)),
        closed_at if closed_at is not None and closed_at <= assessed.at else None,
        found_since(assessed),
        logged_since(assessed),
    )


def _passes_asked(
    assessed: Assessed,
    pilot_diameter_m: float | None,
    lying: Sequence[ToWatch],
    watched: Mapping[tuple[int, str], list[WatchInput]],
) -> tuple[str, ...]:
    """The passes of every crossing, ``watched`` being the watches of each by its place.

    A reamer that is logged went by every line, whatever was planned, and one that was released may have. A
    stop in a pass that is not asked for any more stands all the same: that pass was made.
    """
    site = assessed.site
    passes = passes_to_watch(pilot_diameter_m, assessed.scene.inputs.final_diameter_m)
    if site.is_reaming_released or site.passes.reamings:
        return ALL_PASSES
    is_stopped = any(
        name not in passes and still_stopping(found, _pulled_to(lying[place].to_m, assessed))
        for (place, name), found in watched.items()
    )
    return ALL_PASSES if is_stopped else passes


def _watches_at(
    place: int, one: ToWatch, passes: Sequence[str], watched: Mapping[tuple[int, str], list[WatchInput]]
) -> dict[str, list[WatchInput]]:
    """The watches of each pass that is asked for at a crossing, the passes in their order.

    No pass after the pilot goes where that was pulled back, unless somebody saw one there.
    """
    is_later = any((place, name) in watched for name in passes if name != PILOT)
    asked = (PILOT,) if one.leg and not is_later else passes
    return {name: watched.get((place, name), []) for name in asked}


def gone_words(row: CrossingWatched) -> str:
    """What named a crossing that is not there any more; empty for one that is."""
    if not row.lies.is_gone:
        return ""
    return GONE_MET if row.lies.is_drilled else GONE


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
        stopping = still_stopping(watches, _pulled_to(lies.to_m, assessed))
        passed = PassWatched(name, tuple(watches), stopping, None)
        seen = passed.last_seen
        if seen is not None and before is not None and seen.watched_at < before.watched_at:
            passed = replace(passed, overtaken_by=before)
        elif seen is not None:
            before = seen
        made_anew, pulled_back = _made_anew(passed, lies, assessed), _pulled_back(passed, lies, assessed)
        passed = replace(
            passed,
            made_anew=made_anew,
            pulled_back=pulled_back,
            unreleased_until=_unreleased_until(passed, assessed),
        )
        excuse = variance_for_watch(assessed.site, lies, name, passed.fault_keys, assessed.at)
        passes.append(replace(passed, excuse=excuse))
    whole = None
    if lies.is_gone:
        keys = [key for one in passes for key in one.fault_keys]
        whole = variance_for_gone(assessed.site, lies, keys, assessed.at)
    if whole is not None:
        passes = [replace(one, excuse=one.excuse or whole) for one in passes]
    return CrossingWatched(place, lies, tuple(passes), whole)


def _unreleased_until(passed: PassWatched, assessed: Assessed) -> datetime | None:
    """When the bore might first be drilled under a release, where the pass was last seen before that."""
    seen, stood_from = passed.last_seen, assessed.site.released_from
    if seen is None or stood_from is None or stood_from > assessed.at:
        return None
    return stood_from if seen.watched_at < stood_from else None


def _made_anew(passed: PassWatched, lies: ToWatch, assessed: Assessed) -> PassInput | None:
    """The last logged pass of that kind over the crossing, where it was made after it was last watched.

    A pass may be logged long after it was watched, so when it was made counts. One that nobody watched is it
    too: who excuses it is told of it, and not of the next one.
    """
    last = assessed.site.passes.last_over(passed.pass_made, lies.from_m, lies.to_m)
    watch = passed.watch
    return last if last is not None and (watch is None or watch.watched_at < last.made_at) else None


def _pulled_back(passed: PassWatched, lies: ToWatch, assessed: Assessed) -> PulledBack | None:
    """The last pull-back that began at the crossing or before it and that outdates the last watch of a pass.

    What was watched before it, of any pass, was seen in another hole; what was watched after it and before a
    rod was logged in place of those, where nothing says that there was one. The stations of rods are not
    those of the plan to the inch: at the crossing is within what the same place may be off. What an abandoned
    leg alone met no pass meets again.
    """
    watch = passed.watch
    if lies.leg:
        return None
    since = [
        one for one in _pulled_to(lies.to_m, assessed) if watch is None or one.outdates(watch.watched_at)
    ]
    return since[-1] if since else None


def _pulled_to(station_m: float, assessed: Assessed) -> list[PulledBack]:
    """The pull-backs from a station on or from before it, as far as the same place may be off."""
    reach_m = station_m + same_place_m(assessed)
    return [one for one in assessed.site.pulled_back if one.from_m <= reach_m]


def _stands(lost: WatchInput, assessed: Assessed) -> bool:
    """Whether a lost watch set off a stop rule, and the pass was not seen again at that place since."""
    if not stops_of_watch(lost):
        return False
    known = [one for one in assessed.site.watches if one.watched_at <= assessed.at]
    near_m, pulled = same_place_m(assessed), _pulled_to(lost.station_m, assessed)
    return not any(
        one.seen
        and not one.is_before_exit
        and not any(back.is_before_anew(one.watched_at) for back in pulled)
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
