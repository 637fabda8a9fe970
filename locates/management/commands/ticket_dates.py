"""Say what dates a jurisdiction's rule gives a ticket, and how they come about."""

import json
from argparse import ArgumentParser
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import available_timezones

from django.core.management.base import BaseCommand, CommandError
from django.db.models import F

from locates.desk.date_ticket import dates_of
from locates.errors import MomentError
from locates.exchange.moments import EARLIEST_YEAR, LATEST_YEAR
from locates.local_time import parse_local
from locates.models import JurisdictionRule, Organisation
from locates.models.centre_day import own_days
from locates.one_call.clock import Call
from locates.one_call.clock_members import ClockError
from locates.one_call.clock_terms import KINDS
from locates.one_call.dates_document import dates_document, dates_lines
from locates.one_call.state_zones import zone_of

BAD_INPUT = 2
ACCEPTED = (
    "accepted is a moment with its offset, such as 2026-11-25T14:10:00-05:00, "
    "or a day and a time there, such as 2026-11-25 2:10 pm or 2026-11-25 14:10, "
    f"of the years {EARLIEST_YEAR} to {LATEST_YEAR}"
)


class Command(BaseCommand):
    """Exit status 0: the dates are printed, null where the rule does not say; 2: bad input."""

    help = "Work out a ticket's dates from a jurisdiction's rule. Not legal advice: the text cited decides."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        parser.add_argument("rule", metavar="RULE", help="the rule's code, such as VA; or VA:1 for a version")
        parser.add_argument(
            "--organisation",
            metavar="NAME",
            help="the company by whose own version and days it is worked out; default: as shipped, for all",
        )
        parser.add_argument("--called", metavar="TIME", required=True, help="when the notice was called in")
        parser.add_argument("--kind", choices=KINDS, default="routine", help="kind of ticket")
        parser.add_argument("--start", metavar="TIME", help="start that the notice states")
        parser.add_argument(
            "--time-zone", metavar="ZONE", help="where the work is; default: the zone of most of the state"
        )
        parser.add_argument("--format", choices=("text", "json"), default="text")

    def handle(self, *args: Any, **options: Any) -> None:
        """Work out and print."""
        company = _company(options["organisation"])
        rule = _rule(options["rule"], company)
        zone = _zone(rule, options["time_zone"], options["called"])
        called_at = _moment("--called", options["called"], zone)
        start_at = _moment("--start", options["start"], zone) if options["start"] is not None else None
        if start_at is not None and start_at < called_at:
            raise CommandError(
                f"--start: found '{options['start']}'; accepted is a moment that is not before --called",
                returncode=BAD_INPUT,
            )
        call = Call(kind=options["kind"], called_at=called_at, time_zone=zone, start_at=start_at)
        try:
            dates = dates_of(rule, call, own_days=own_days(rule.code, company))
        except ClockError as error:
            raise CommandError(f"the clock of {rule}: {error}", returncode=BAD_INPUT) from error
        if options["format"] == "json":
            whose = None if rule.organisation is None else rule.organisation.name
            document = {"rule": rule.code, "version": rule.version, "organisation": whose}
            document |= {"kind": call.kind, "time_zone": zone} | dates_document(dates, zone)
            self.stdout.write(json.dumps(document, indent=1, ensure_ascii=False))
        else:
            head = f"{rule}, {call.kind} ticket, times of {zone}"
            foot = (
                f"Read from {rule.citation}; last checked {rule.checked_on}. "
                "Not legal advice: the text cited decides."
            )
            self.stdout.write("\n".join([head, *dates_lines(dates, zone), foot]))


def _company(name: str | None) -> UUID | None:
    """The company that is named; None where none is."""
    if name is None:
        return None
    found = Organisation.objects.filter(name=name).first()
    if found is None:
        raise CommandError(
            f"--organisation: found '{name}'; accepted is the name of a company that is known here",
            returncode=BAD_INPUT,
        )
    return found.pk


def _rule(text: str, company: UUID | None) -> JurisdictionRule:
    """The rule that the company goes by, or the version asked for: of its own where there is such a one."""
    code, _, version = text.partition(":")
    known = JurisdictionRule.objects.known_to(company)
    if version:
        number = int(version) if version.isdecimal() and len(version) < 7 else 0
        rules = known.filter(code__iexact=code.strip(), version=number)
        found = rules.order_by(F("organisation").asc(nulls_last=True)).first()
    else:
        found = JurisdictionRule.objects.in_use_by(company).filter(code__iexact=code.strip()).first()
    if found is None:
        codes = known.order_by("code").values_list("code", flat=True).distinct()
        raise CommandError(
            f"RULE: found '{text}'; accepted is one of {', '.join(codes) or 'no rule at all'}, "
            "with :1 and the like for a version",
            returncode=BAD_INPUT,
        )
    return found


def _zone(rule: JurisdictionRule, asked: str | None, called: str) -> str:
    """Zone of the work: the one asked for, else that of the state."""
    if asked is None:
        zone = zone_of(rule.code, _with_offset(called))
        if zone is None:
            raise CommandError(
                f"--time-zone: found nothing, and the zone of {rule.code} is not known; "
                "accepted is an IANA name such as America/New_York",
                returncode=BAD_INPUT,
            )
        return zone
    if asked not in available_timezones():
        raise CommandError(
            f"--time-zone: found '{asked}'; accepted is an IANA name such as America/New_York",
            returncode=BAD_INPUT,
        )
    return asked


def _moment(option: str, text: str, zone: str) -> datetime:
    """The moment written, its own offset before the zone."""
    moment = _with_offset(text)
    if moment is not None:
        return moment
    try:
        return parse_local(text, zone)
    except MomentError as error:
        raise CommandError(
            f"{option}: found '{text}' ({error.reason}); {ACCEPTED} (times of {zone})",
            returncode=BAD_INPUT,
        ) from error


def _with_offset(text: str) -> datetime | None:
    """The moment of a text that carries its offset, in a year that tickets have; None for any other."""
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError:
        return None
    if moment.tzinfo is None or not EARLIEST_YEAR <= moment.year <= LATEST_YEAR:
        return None
    return moment
