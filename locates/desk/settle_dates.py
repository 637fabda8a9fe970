"""Which dates a ticket gets: what the rule gives, unless a person wrote another."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any

from locates.desk.date_ticket import dates_of
from locates.models import Job, JurisdictionRule
from locates.models.centre_day import own_days
from locates.one_call.calendar_terms import CentreDay
from locates.one_call.clock import Call, no_dates
from locates.one_call.clock_members import ClockError
from locates.one_call.counting import NoWorkingDayError
from locates.ticket_dates import DATES, computed_at

Worked = Mapping[str, Mapping[str, Any]]
"""Name of each date to its moment, ``at`` as ISO 8601 text or None, and its ``working`` in one sentence."""


@dataclass(frozen=True, slots=True)
class SettledDates:
    """The dates that count, and the names of those that a person wrote otherwise than worked out."""

    moments: dict[str, datetime | None]
    by_hand: tuple[str, ...]


def rule_in_use(job: Job) -> JurisdictionRule:
    """The newest version that the job's company goes by: a notice is given under the law of today."""
    return JurisdictionRule.objects.in_use_by(job.organisation_id).get(code=job.jurisdiction.code)


def days_in_use(job: Job) -> tuple[CentreDay, ...]:
    """The days that the centre counts its own way where a job is, as the job's company knows them."""
    return own_days(job.jurisdiction.code, job.organisation_id)


def work_out(
    rule: JurisdictionRule, call: Call, *, own_days: tuple[CentreDay, ...]
) -> dict[str, dict[str, str | None]]:
    """The dates that a rule gives a call, as a ticket stores them; a clock that cannot be used gives none."""
    try:
        dates = dates_of(rule, call, own_days=own_days)
    except (ClockError, NoWorkingDayError) as error:
        dates = no_dates(f"the clock of {rule} cannot be used ({error})")
    worked = {}
    for name in DATES:
        one = getattr(dates, name)
        worked[name] = {"at": None if one.at is None else one.at.isoformat(), "working": one.working}
    return worked


def settle_dates(worked: Worked, written: Mapping[str, datetime | None]) -> SettledDates:
    """Hold what a person wrote against what was worked out, to the minute.

    A date that nobody wrote is the one worked out, where there is one; where the rule gives none, what was
    written counts and needs no reason.
    """
    moments, by_hand = {}, []
    for name in DATES:
        computed, own = computed_at(worked, name), written.get(name)
        if own is None or (computed is not None and _minute(own) == _minute(computed)):
            moments[name] = computed
            continue
        moments[name] = own
        if computed is not None:
            by_hand.append(name)
    return SettledDates(moments, tuple(by_hand))


def gives_any(worked: Worked) -> bool:
    """Whether any date was worked out."""
    return any(computed_at(worked, name) is not None for name in DATES)


def fingerprint(rule: JurisdictionRule, worked: Worked) -> str:
    """A short text that is another for other dates or another version: what a person was shown."""
    shown = [str(rule.pk), *(str(computed_at(worked, name)) for name in DATES)]
    return sha256("\n".join(shown).encode()).hexdigest()[:16]


def _minute(moment: datetime) -> datetime:
    return moment.replace(second=0, microsecond=0)
