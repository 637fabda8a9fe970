"""Tickets whose dates rest on an older version of a rule or on other days: listed, never rewritten."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from locates.changes import job_changed
from locates.desk.save_record import hold_job
from locates.desk.settle_dates import work_out
from locates.models import CentreDay, DayReview, JurisdictionRule, Ticket
from locates.models.centre_day import own_days_of
from locates.one_call.calendar_terms import CentreDay as OwnDay
from locates.one_call.clock import Call
from locates.ticket_dates import DATES, computed_at


@dataclass(frozen=True, slots=True)
class ReviewRow:
    """One date: as it counts, and as the newest version would give it."""

    label: str
    at: datetime | None
    anew_at: datetime | None
    working: str

    @property
    def differs(self) -> bool:
        """Whether the two are not the same moment, or one of them is unknown."""
        return self.at != self.anew_at


@dataclass(frozen=True, slots=True)
class Review:
    """A ticket beside the rule that its company goes by now, and the day of the centre's that has changed."""

    ticket: Ticket
    rule: JurisdictionRule
    rows: list[ReviewRow]
    day: CentreDay | None


def reviews_of(tickets: Iterable[Ticket]) -> list[Review]:
    """What the newest rule and days would give each ticket of `to_review`; three queries for all of them."""
    held = list(tickets)
    rules = JurisdictionRule.objects.in_bulk({one.newest_rule for one in held})
    places = {one.pk: (rules[one.newest_rule].code, one.job.organisation_id) for one in held}
    own_days = own_days_of(places.values())
    days = {
        one.ticket_id: one.centre_day
        for one in DayReview.objects.filter(ticket__in=held).select_related("centre_day")
    }
    return [
        _review(ticket, rules[ticket.newest_rule], own_days[places[ticket.pk]], days.get(ticket.pk))
        for ticket in held
    ]


def _review(
    ticket: Ticket, rule: JurisdictionRule, own_days: tuple[OwnDay, ...], day: CentreDay | None
) -> Review:
    call = Call(
        kind=ticket.ticket_kind,
        called_at=ticket.called_at,
        time_zone=ticket.job.time_zone,
        start_at=ticket.wanted_start_at,
    )
    worked = work_out(rule, call, own_days=own_days)
    rows = [
        ReviewRow(label, getattr(ticket, name), computed_at(worked, name), worked[name]["working"] or "")
        for name, (label, _) in DATES.items()
    ]
    return Review(ticket, rule, rows, day)


def mark_reviewed(ticket_id: UUID, rule_id: UUID, *, by: AbstractBaseUser) -> Ticket:
    """Note that a person has held a ticket's dates against a version of a rule and the centre's days.

    Said twice it is said once.

    Raises ``Ticket.DoesNotExist`` where there is no live ticket, `RetiredMeanwhileError` where its job is
    retired.
    """
    with transaction.atomic():
        hold_job(Ticket.objects.values_list("job", flat=True).get(pk=ticket_id))
        ticket = Ticket.objects.select_for_update().get(pk=ticket_id)
        looked_at, _ = DayReview.objects.filter(ticket=ticket).delete()
        if looked_at or ticket.reviewed_rule_id != rule_id:
            ticket.reviewed_rule_id, ticket.edited_by = rule_id, by
            ticket.save(update_fields=["reviewed_rule", "edited_by"])
            job_changed(ticket.job_id)
    return ticket
