"""Each crossing of a bore by each pass: what was watched, what stops the crew, what is missing."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from conflicts.checks import Assessed, crossing_now
from conflicts.crossings import FoundCrossing
from conflicts.sentences import station_words
from conflicts.site_records import (
    CrossingExtent,
    VarianceInput,
    WatchInput,
    last_camera,
    variance_for_watch,
)
from conflicts.stop_rules import StopRule, stops_of_watch
from conflicts.watch_matching import (
    ALL_PASSES,
    CrossingPlace,
    CrossingReach,
    crossing_of_watch,
    passes_to_watch,
)

SEWER = "sewer_drain"
LOST_STOP = "Its crossing is not there any more: the stop stands until a variance for that watch is signed."
LAST_PASS = "pullback"  # noqa: S105 - what passes a line last


@dataclass(frozen=True)
class PassWatched:
    """One pass of one crossing: its watches in order of time, those that stop it, the variance for it.

    A watch that set off a stop rule stops the pass until a later one saw it go by with nothing wrong; one
    that saw nothing settles nothing. A variance excuses those stops that its signer was told of.
    """

    pass_made: str
    watches: tuple[WatchInput, ...]
    stopping: tuple[WatchInput, ...]
    excuse: VarianceInput | None

    @property
    def watch(self) -> WatchInput | None:
        """The last watch."""
        return self.watches[-1] if self.watches else None

    @property
    def stops(self) -> list[tuple[StopRule, WatchInput]]:
        """The stop rules that stand, each with the last watch that set it off."""
        found = {rule: watch for watch in self.stopping for rule in stops_of_watch(watch)}
        return list(found.items())

    @property
    def is_settled(self) -> bool:
        """Whether nothing of it stands in the way: seen with nothing that stops, or excused."""
        return self.excuse is not None or (self.watch is not None and self.watch.seen and not self.stopping)


@dataclass(frozen=True, eq=False)
class CrossingWatched:
    """A present crossing by its place along the bore, with its passes in order."""

    place: int
    crossing: FoundCrossing
    passes: tuple[PassWatched, ...]

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
        return [f"{place}: {rule.when} {rule.then}{left}" for rule, _ in self.passed.stops]


@dataclass(frozen=True, eq=False)
class WatchTable:
    """All crossings with their passes, and the watches that belong to no present crossing.

    ``lost_stops`` are those of them that set off a stop rule, each as a pass of its own.
    """

    crossings: tuple[CrossingWatched, ...]
    lost: tuple[WatchInput, ...]
    lost_stops: tuple[StandingStop, ...]

    @property
    def stopped(self) -> list[StandingStop]:
        """Passes of which a stop rule stands unsettled, also where the crossing is not there any more."""
        present = [
            StandingStop(row.crossing.mark.ref, row.crossing.clearance.station_m, one, is_lost=False)
            for row in self.crossings
            for one in row.passes
            if one.stopping and not one.is_settled
        ]
        return present + [one for one in self.lost_stops if not one.passed.is_settled]

    @property
    def next_open(self) -> tuple[CrossingWatched, PassWatched] | None:
        """What is to be watched next: of the earliest pass that misses a crossing, the first one along."""
        order = [one.pass_made for one in self.crossings[0].passes] if self.crossings else []
        for name in order:
            for row in self.crossings:
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
    present = crossing_places(assessed)
    watched: dict[tuple[int, str], list[WatchInput]] = {}
    lost = []
    for watch in assessed.site.watches:
        if watch.watched_at > assessed.at:
            continue
        place = crossing_of_watch(CrossingPlace(watch.mark_id, watch.kind, watch.station_m), present)
        if place is None:
            lost.append(watch)
        else:
            watched.setdefault((place, watch.pass_made), []).append(watch)
    passes = passes_to_watch(pilot_diameter_m, assessed.scene.inputs.final_diameter_m)
    if any(name not in passes and _stopping(watches) for (_, name), watches in watched.items()):
        # A stop in a pass that is not asked for any more stands all the same: that pass was made.
        passes = ALL_PASSES
    return WatchTable(
        tuple(
            CrossingWatched(
                place,
                one,
                tuple(_pass(assessed, one, name, watched.get((place, name), [])) for name in passes),
            )
            for place, one in enumerate(assessed.crossings)
        ),
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
    """The watches that belong to no present crossing and of which a stop rule stands, excused or not.

    Parameters
    ----------
    assessed : Assessed
    """
    return [one.passed.stopping[-1] for one in watch_table(assessed, None).lost_stops]


def crossing_places(assessed: Assessed) -> list[CrossingReach]:
    """Where each crossing lies, in their order along the bore, and from where to where a watch is of it.

    That is its extent, and on either side what the bore steers beside and the tolerance zone.

    Parameters
    ----------
    assessed : Assessed
    """
    near_m = same_place_m(assessed)
    return [
        CrossingReach(
            one.mark.mark_id,
            one.clearance.kind,
            one.clearance.station_m,
            one.clearance.from_m - near_m,
            one.clearance.to_m + near_m,
        )
        for one in assessed.crossings
    ]


def _pass(
    assessed: Assessed, one: FoundCrossing, pass_made: str, watches: Sequence[WatchInput]
) -> PassWatched:
    stopping = _stopping(watches)
    stops = [watch.watch_id for watch in stopping]
    excuse = variance_for_watch(assessed.site, crossing_now(assessed, one), pass_made, stops, assessed.at)
    return PassWatched(pass_made, tuple(watches), stopping, excuse)


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
    excuse = variance_for_watch(assessed.site, place, lost.pass_made, [lost.watch_id], assessed.at)
    passed = PassWatched(lost.pass_made, (lost,), (lost,), excuse)
    return StandingStop(lost.mark_ref, lost.station_m, passed, is_lost=True)


def same_place_m(assessed: Assessed) -> float:
    """How far the same place may be off: by what the bore steers beside, and by the tolerance zone.

    Parameters
    ----------
    assessed : Assessed
    """
    job = assessed.scene.inputs.job
    return job.bore_horizontal_m + job.tolerance_zone_m


def _stopping(watches: Sequence[WatchInput]) -> tuple[WatchInput, ...]:
    """Those watches of a pass, in order of time, of which a stop rule still stands."""
    found: list[WatchInput] = []
    for watch in watches:
        if watch.seen:
            found = []
        if stops_of_watch(watch):
            found.append(watch)
    return tuple(found)


def close_out_faults(table: WatchTable, assessed: Assessed) -> list[str]:
    """Sentences on every watch, gap and camera inspection without which a bore is not closed out.

    Parameters
    ----------
    table : WatchTable
        Of the same assessment.
    assessed : Assessed
    """
    units = assessed.scene.inputs.job.show_units
    faults = [words for row in table.crossings for words in _crossing_faults(row, units)]
    faults += [words for one in table.stopped if one.is_lost for words in one.words(units)]
    return faults + _camera_faults(table, assessed)


def _crossing_faults(row: CrossingWatched, units: str) -> list[str]:
    """What is missing at one crossing: a sentence for all passes of a kind, and the stop rules that stand."""
    line = f"{row.crossing.mark.ref} at {station_words(row.crossing.clearance.station_m, units)}"
    left = [one for one in row.passes if not one.is_settled]
    unwatched = [one.pass_made for one in left if one.watch is None]
    unseen = [one.pass_made for one in left if one.watch is not None and not one.watch.seen]
    faults = []
    if unwatched:
        faults.append(f"{line}: nobody watched {_passes(unwatched, 'or')}.")
    if unseen:
        was = "was" if len(unseen) == 1 else "were"
        faults.append(f"{line}: {_passes(unseen, 'and')} {was} not seen to pass it.")
    stops = [(one.pass_made, rule) for one in left for rule, _ in one.stops]
    return faults + [f"{line}, {pass_made}: {rule.when} {rule.then}" for pass_made, rule in stops]


def _passes(names: Sequence[str], last_word: str) -> str:
    """Passes as a phrase: "the pilot, the reaming or the pullback"."""
    *most, last = [f"the {name}" for name in names]
    return f"{', '.join(most)} {last_word} {last}" if most else last


def _camera_faults(table: WatchTable, assessed: Assessed) -> list[str]:
    """Sewers that were crossed and not looked into since the pullback."""
    faults = []
    pulled_at = _last_pullback(table.crossings)
    for mark_id, rows in _sewers(table.crossings).items():
        ref = rows[0].crossing.mark.ref
        look = last_camera(assessed.site, mark_id, "after", assessed.at)
        if look is None:
            faults.append(f"{ref}: no camera inspection of the sewer after the bore.")
        elif pulled_at is not None and look.inspected_at < pulled_at:
            faults.append(f"{ref}: the camera looked into the sewer before the pullback. Look again.")
        elif look.result != "no_damage":
            faults.append(f"{ref}: the camera inspection did not show the sewer without damage.")
    return faults


def _sewers(rows: Sequence[CrossingWatched]) -> dict[str, list[CrossingWatched]]:
    found: dict[str, list[CrossingWatched]] = {}
    for row in rows:
        if row.crossing.mark.facility_type == SEWER:
            found.setdefault(row.crossing.mark.mark_id, []).append(row)
    return found


def _last_pullback(rows: Sequence[CrossingWatched]) -> datetime | None:
    """When the conduit was last watched anywhere on the bore, for it moves in every line until then.

    Where a variance stands for such a watch it may have moved until that was signed.
    """
    pulled = [one for row in rows for one in row.passes if one.pass_made == LAST_PASS]
    watched = [one.watch.watched_at for one in pulled if one.watch]
    return max([*watched, *(one.excuse.signed_at for one in pulled if one.excuse)], default=None)
