"""May this bore be drilled? The release: what it rests on, signing it, and whether it still holds.

Whether it holds is computed from the records whenever somebody asks. Nothing of it is stored, nothing is kept
from an earlier answer, and it holds only where both the database's clock and this machine's say so.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from conflicts.assess import Computed, compute, document
from conflicts.checks import Assessed, Check, crossing_excuse, release_checks
from conflicts.clocks import moments_now
from conflicts.drilled_stops import drilled_stops
from conflicts.engine.errors import EngineError
from conflicts.errors import DamageOpenError, GroundsChangedError, ReleaseHeldError, ShiftError
from conflicts.gather import gather
from conflicts.ground_changes import GroundChange, changes_since_each, last_event_id
from conflicts.models import Bore, Release
from conflicts.models.signed import name_of
from conflicts.site_records import VarianceInput
from conflicts.walk_days import local_day
from conflicts.watch_table import stop_words
from locates.canonical import canonical_text, digest_of
from locates.desk.ledger import enter
from locates.desk.save_record import hold_job, named
from locates.errors import RetiredMeanwhileError
from locates.local_time import format_moment

LONGEST_SHIFT = timedelta(hours=16)
"""Common practice, no source: two shifts and no more."""
MOST_CHANGES_TOLD = 3
NONE_READ: Mapping[UUID, Computed] = {}


class ReleaseState(StrEnum):
    """How a release stands at a moment. A stopped one is in force again once the stop is settled."""

    IN_FORCE = "in_force"
    NOT_YET = "not_yet"
    STOPPED = "stopped"
    OVER = "over"
    LAPSED = "lapsed"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True)
class Standing:
    """How a release stands, why, and when time alone would end it."""

    state: ReleaseState
    reasons: tuple[str, ...]
    lapses_at: datetime | None = None

    @property
    def is_in_force(self) -> bool:
        """Whether it says yes."""
        return self.state is ReleaseState.IN_FORCE

    @property
    def is_underway(self) -> bool:
        """Whether it is in force, or would be but for a stop."""
        return self.state in (ReleaseState.IN_FORCE, ReleaseState.STOPPED)


@dataclass(frozen=True, eq=False)
class Grounds:
    """What a release of a bore would rest on at a moment."""

    assessed: Assessed
    checks: list[Check]
    document: dict[str, Any]

    @property
    def holding(self) -> list[Check]:
        """The checks that stop it."""
        return [check for check in self.checks if check.holds]

    @property
    def excuses(self) -> list[VarianceInput]:
        """The variances but for which a check would hold, each once, by their ids."""
        used = [check.excuse for check in self.checks]
        used += [crossing_excuse(self.assessed, one) for one in self.assessed.crossings if not one.is_clear]
        found = {one.variance_id: one for one in used if one is not None}
        return [found[key] for key in sorted(found)]

    @property
    def digest(self) -> str:
        """SHA-256 of the assessment document and of what was recorded at the site."""
        return digest_of(canonical_text({"document": self.document} | self._site()))

    @property
    def shown_digest(self) -> str:
        """SHA-256 of all records that they rest on, whatever the moment: of what somebody saw who signs."""
        return digest_of(canonical_text({"inputs": self.document["inputs_digest"]} | self._site()))

    def _site(self) -> dict[str, Any]:
        site = self.assessed.site
        return {
            "walks": [one.walked_at.isoformat() for one in site.walks],
            "variances": [
                [one.variance_id, one.until.isoformat()]
                for one in site.variances
                if one.is_in_force(self.assessed.at)
            ],
            "cameras": [
                [one.mark_id, one.stage, one.inspected_at.isoformat(), one.result] for one in site.cameras
            ],
            "never_waived": list(site.never_waived),
            "damage": list(site.damage),
        }


def grounds_of(bore: Bore, at: datetime) -> Grounds:
    """The grounds of a bore at a moment, computed from the records as they are now.

    Raises
    ------
    EngineError
        Records that no figure can be computed from.
    """
    return _grounds(compute(gather([bore.pk])[bore.pk]).at(at))


def _grounds(assessed: Assessed) -> Grounds:
    checks = release_checks(assessed)
    return Grounds(assessed, checks, document(assessed, checks))


def sign_release(
    release: Release, *, by: AbstractBaseUser, at: datetime | None = None, shown_digest: str | None = None
) -> Release:
    """Sign a release that names its bore, shift, crew and rig; the same one sent twice is signed once.

    Parameters
    ----------
    release : Release
        Not stored yet.
    by : user
        Who signs.
    at : datetime, optional
        The moment of signing where it is not this one: for records of the past that are entered whole.
    shown_digest : str, optional
        `Grounds.shown_digest` of what the person saw who signs, where a page showed it.

    Returns
    -------
    Release
        As it is stored.

    Raises
    ------
    ReleaseHeldError
        A check holds, with all of those that do.
    GroundsChangedError
        Records that are not those that were shown.
    DamageOpenError
        Nothing said of what was settled, after a report of damage that no release answers yet.
    ShiftError
        A shift that is over, too long, or on another day than the walk.
    EngineError
        Records that no figure can be computed from.
    RetiredMeanwhileError
        The job or the bore is retired.
    """
    with transaction.atomic():
        hold_job(release.bore.job_id)
        there = Release.objects.filter(pk=release.pk, bore=release.bore_id).first()
        if there is not None:
            return there
        bore = Bore.objects.select_for_update(of=("self",)).select_related("job__jurisdiction")
        bore = bore.filter(pk=release.bore_id).first()
        if bore is None:
            raise RetiredMeanwhileError(named(release.bore))
        known = last_event_id()
        moments = (at,) if at is not None else moments_now()
        computed = compute(gather([bore.pk])[bore.pk])
        for moment in moments:
            grounds = _grounds(computed.at(moment))
            if grounds.holding or grounds.assessed.site.closed_out_at is not None:
                raise ReleaseHeldError([check.sentence for check in grounds.holding] or [CLOSED_OUT])
            if shown_digest not in (None, grounds.shown_digest):
                raise GroundsChangedError
        release.signed_at = moments[0]
        check_shift(release.shift_from, release.shift_until, release.signed_at, bore.job.time_zone)
        release.document = grounds.document
        release.inputs_digest = grounds.document["inputs_digest"]
        release.grounds_digest = grounds.digest
        release.crossing_marks = [one.mark.mark_id for one in grounds.assessed.crossings]
        release.excused_by = [one.variance_id for one in grounds.excuses]
        release.damage_answered = Release.objects.open_damage(bore, grounds.assessed.site.damage)
        if release.damage_answered and not release.damage_settled.strip():
            raise DamageOpenError(len(release.damage_answered))
        release.last_event_id = known
        release.signed_by = by
        release.signed_by_name = name_of(by)
        release.save(force_insert=True)
        enter(release, by=by)
    return release


CLOSED_OUT = "The bore is closed out: it was drilled."


def check_shift(shift_from: datetime, shift_until: datetime, at: datetime, time_zone: str) -> None:
    """Refuse a shift that is over, too long, or that begins on another day than the one that was walked."""
    if shift_until <= shift_from:
        raise ShiftError("the shift ends before it begins", "an end after the beginning")
    if shift_until - shift_from > LONGEST_SHIFT:
        raise ShiftError("the shift is too long", f"{LONGEST_SHIFT // timedelta(hours=1)} hours at most")
    if shift_until <= at:
        raise ShiftError("the shift is over", "a shift that goes on now or begins today")
    if local_day(max(shift_from, at), time_zone) != local_day(at, time_zone):
        raise ShiftError(
            "the shift begins on another day", "a shift of today: marks and device are seen on the day itself"
        )


def releases_to_lapse(bore: Bore) -> list[Release]:
    """The releases of a bore that a change of it would end: those in force, stopped, or not yet begun."""
    open_ones = Release.objects.filter(bore=bore).open_at(min(moments_now())).with_course()
    ended = (ReleaseState.OVER, ReleaseState.LAPSED, ReleaseState.WITHDRAWN)
    return [one for one in open_ones.newest_first() if standing_of(one).state not in ended]


def standing_of(release: Release, figures: Computed | None = None) -> Standing:
    """How a release stands now, by both clocks: the worse answer counts.

    Parameters
    ----------
    release : Release
        With its bore, job and withdrawal (`Release.objects.with_course`).
    figures : Computed, optional
        Of its bore, from records that were read for this very answer: what changed since is asked after.
    """
    read = {} if figures is None else {release.bore_id: figures}
    return standings_of([release], read)[release.bore_id]


def standings_of(
    releases: Iterable[Release], read: Mapping[UUID, Computed] = NONE_READ
) -> dict[UUID, Standing]:
    """The same of many releases, one of each bore at most, in a fixed number of queries.

    Parameters
    ----------
    releases : iterable of Release
        With their bores, jobs and withdrawals.
    read : mapping of UUID to Computed
        Bores whose records were read for this very answer.

    Returns
    -------
    dict of UUID to Standing
        By bore.
    """
    of = {release.bore_id: release for release in releases}
    if not of:
        return {}
    changes = changes_since_each({bore_id: release.last_event_id for bore_id, release in of.items()})
    now = moments_now()
    told = [
        (release, at, standing_by_time(release, at, changes[bore_id]))
        for bore_id, release in of.items()
        for at in _asked_at(release, now)
    ]
    asked = {release.bore_id for release, _, standing in told if standing is None}
    found = {**read, **_computed(asked - read.keys())}
    standings: dict[UUID, Standing] = {}
    for release, at, by_time in told:
        standing = by_time or _by_grounds(release, at, found.get(release.bore_id))
        other = standings.get(release.bore_id, standing)
        standings[release.bore_id] = min((other, standing), key=lambda one: one.is_in_force)
    return standings


def standing_at(release: Release, at: datetime, changes: Sequence[GroundChange]) -> Standing:
    """How a release stands at a moment, with what has changed of its grounds until then."""
    by_time = standing_by_time(release, at, changes)
    if by_time is not None:
        return by_time
    return _by_grounds(release, at, _computed([release.bore_id], at).get(release.bore_id))


def _asked_at(release: Release, now: Sequence[datetime]) -> Sequence[datetime]:
    withdrawal = getattr(release, "withdrawal", None)
    # It is withdrawn once that is stored, also where the clock that dated it was ahead of these two.
    return now if withdrawal is None else [withdrawal.withdrawn_at]


def standing_by_time(release: Release, at: datetime, changes: Sequence[GroundChange]) -> Standing | None:
    """How a release stands at a moment that it had ended by, whatever its grounds; None where they decide."""
    zone = release.bore.job.time_zone
    withdrawal = getattr(release, "withdrawal", None)
    if withdrawal is not None and withdrawal.withdrawn_at <= at:
        when = format_moment(withdrawal.withdrawn_at, zone)
        words = f"Withdrawn {when} by {withdrawal.withdrawn_by_name}: {withdrawal.reason}"
        return Standing(ReleaseState.WITHDRAWN, (words,))
    if release.shift_until <= at:
        return Standing(ReleaseState.OVER, (f"Its shift ended {format_moment(release.shift_until, zone)}.",))
    if local_day(at, zone) > local_day(release.signed_at, zone):
        signed_on = format_moment(release.signed_at, zone)
        words = f"Signed {signed_on}: it holds on that day alone. Walk the bore again, and sign a new one."
        return Standing(ReleaseState.LAPSED, (words,))
    if changes:
        return Standing(ReleaseState.LAPSED, _told(changes, zone))
    return None


def _computed(bore_ids: Collection[UUID], rods_until: datetime | None = None) -> dict[UUID, Computed | str]:
    """Bores computed from the records as they are now, or why one cannot be; those that are there."""
    found: dict[UUID, Computed | str] = {}
    if bore_ids:
        for bore_id, inputs in gather(bore_ids, rods_until).items():
            try:
                found[bore_id] = compute(inputs)
            except EngineError as error:
                found[bore_id] = str(error)
    return found


def _by_grounds(release: Release, at: datetime, found: Computed | str | None) -> Standing:
    zone = release.bore.job.time_zone
    if found is None:
        return Standing(ReleaseState.LAPSED, ("The bore or its job is retired.",))
    if isinstance(found, str):
        return Standing(ReleaseState.LAPSED, (f"The bore cannot be computed: {found}.",))
    if found.inputs_digest != release.inputs_digest:
        return Standing(ReleaseState.LAPSED, ("The records are not those that it was signed on.",))
    try:
        grounds = _grounds(found.at(at))
    except EngineError as error:
        return Standing(ReleaseState.LAPSED, (f"The bore cannot be computed: {error}.",))
    if grounds.assessed.site.closed_out_at is not None:
        return Standing(ReleaseState.OVER, (CLOSED_OUT,))
    if grounds.holding:
        return Standing(ReleaseState.LAPSED, tuple(check.sentence for check in grounds.holding))
    stops = (*stop_words(grounds.assessed), *drilled_stops(grounds.assessed, grounds.assessed.site.log))
    lapses_at = ends_at(release, grounds)
    if at < max(release.signed_at, release.shift_from):
        begins = format_moment(max(release.signed_at, release.shift_from), zone)
        return Standing(ReleaseState.NOT_YET, (f"Its shift begins {begins}.", *stops), lapses_at)
    if stops:
        return Standing(ReleaseState.STOPPED, stops, lapses_at)
    return Standing(ReleaseState.IN_FORCE, (), lapses_at)


def ends_at(release: Release, grounds: Grounds) -> datetime:
    """The moment at which time alone ends a release: its shift or day, a ticket, planned finish, variance."""
    zone, assessed = release.bore.job.time_zone, grounds.assessed
    finish_at = assessed.scene.inputs.planned_finish_at
    tickets = [one.expires_at for one in assessed.cover.in_force if one.expires_at is not None]
    return min(
        release.shift_until,
        _midnight_after(release.signed_at, zone),
        *tickets,
        *([] if finish_at is None else [finish_at]),
        *(one.until for one in grounds.excuses),
    )


def _midnight_after(moment: datetime, time_zone: str) -> datetime:
    """The first moment of the next local day."""
    zone = ZoneInfo(time_zone)
    day = local_day(moment, time_zone) + timedelta(days=1)
    return datetime(day.year, day.month, day.day, tzinfo=zone)


def _told(changes: Sequence[GroundChange], zone: str) -> tuple[str, ...]:
    told = [
        f"{change.what[:1].upper()}{change.what[1:]} was {change.done} "
        f"{format_moment(change.happened_at, zone)}{f' by {change.by}' if change.by else ''}."
        for change in changes[:MOST_CHANGES_TOLD]
    ]
    more = len(changes) - len(told)
    return (*told, *([f"{more} more change{'s' if more > 1 else ''} since."] if more else []))
