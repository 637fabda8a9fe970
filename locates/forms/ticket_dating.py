"""The dates of a ticket's form: worked out from the call, shown before anything is saved, and taken."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from locates.desk.settle_dates import (
    Worked,
    days_in_use,
    fingerprint,
    gives_any,
    rule_in_use,
    settle_dates,
    work_out,
)
from locates.local_time import format_moment
from locates.models import JurisdictionRule
from locates.one_call.call_time import call_accepted_instead
from locates.one_call.clock import Call
from locates.ticket_dates import DATES, computed_at

CALL_FIELDS = ("ticket_kind", "called_at", "wanted_start_at")
LOOK_OVER = (
    "The dates are worked out now and stand beside their fields under \u201cDates\u201d: look them over, "
    "then save."
)


class Dating:
    """What a ticket's form does about dates.

    ``shown`` is a short text of the dates that the page shows as worked out: it comes back with the form, so
    that no date is taken which nobody has seen.
    """

    def __init__(self, form: forms.ModelForm) -> None:
        self.form = form
        self.ticket = form.instance
        self.shown = ""
        self.kept: Worked = self.ticket.computed_dates
        """The dates that were worked out when a stored ticket was logged; of a new one there are none."""
        if self.kept:
            self._tell(self.ticket.dates_rule, self.kept)

    def show(self, data: QueryDict) -> None:
        """Work the dates out from what was typed and show them; what cannot be read is told at its field."""
        call = self._typed_call(data)
        if call is not None:
            rule = self._rule()
            self._tell(rule, work_out(rule, call, own_days=days_in_use(self.form.job)))

    def settled(self, cleaned: dict[str, Any]) -> dict[str, Any]:
        """The checked values with the dates that count, and errors where a person is asked something."""
        if cleaned.get("called_at") is None or not cleaned.get("ticket_kind"):
            return cleaned
        if self.ticket._state.adding or self._call_has_changed() or (self._asked and not self.kept):
            return self._worked_out(cleaned)
        return self._held_against(cleaned, self.kept) if self.kept else cleaned

    def refuse_call_to_come(self, called_at: datetime) -> None:
        """Raise a `ValidationError` where nobody can have called yet."""
        words = call_accepted_instead(called_at, timezone.now(), self.form.job.time_zone)
        if words:
            raise ValidationError(f"That time is still to come. Accepted is {words}.", code="to_come")

    @property
    def _asked(self) -> bool:
        return bool(self.form.data.get("shown_dates"))

    def _rule(self) -> JurisdictionRule:
        """The rule of today; a ticket whose dates were worked out stays under the version of that day."""
        return self.ticket.dates_rule if self.kept else rule_in_use(self.form.job)

    def _call_has_changed(self) -> bool:
        changed = set(self.form.changed_data)
        return bool(self.kept) and bool(changed.intersection(CALL_FIELDS))

    def _worked_out(self, cleaned: dict[str, Any]) -> dict[str, Any]:
        rule = self._rule()
        worked = work_out(rule, self._call(cleaned), own_days=days_in_use(self.form.job))
        if self.kept:
            # A date that was taken as it was worked out follows the call that it was worked out from.
            cleaned |= {
                name: None
                for name in DATES
                if name not in self.form.changed_data and cleaned.get(name) == computed_at(self.kept, name)
            }
        self._tell(rule, worked)
        cleaned = self._held_against(cleaned, worked)
        if gives_any(worked) and self.form.data.get("shown_dates") != self.shown:
            self.form.add_error(None, ValidationError(LOOK_OVER, code="look_over"))
        self.ticket.dates_rule, self.ticket.computed_dates = rule, worked
        return cleaned

    def _held_against(self, cleaned: dict[str, Any], worked: Worked) -> dict[str, Any]:
        settled = settle_dates(worked, {name: cleaned.get(name) for name in DATES})
        if settled.by_hand and not cleaned.get("override_reason"):
            names = " and ".join(DATES[name][0] for name in settled.by_hand)
            self.form.add_error(
                "override_reason", f"Say why: {names} differs from what was worked out. Or empty it."
            )
        readable = {name: at for name, at in settled.moments.items() if name not in self.form.errors}
        return cleaned | readable

    def _call(self, values: Mapping[str, Any]) -> Call:
        return Call(
            kind=values["ticket_kind"],
            called_at=values["called_at"],
            time_zone=self.form.job.time_zone,
            start_at=values.get("wanted_start_at"),
        )

    def _typed_call(self, data: QueryDict) -> Call | None:
        values, form = {}, self.form
        for name in CALL_FIELDS:
            try:
                values[name] = form.fields[name].clean(data.get(name))
                if name == "called_at":
                    self.refuse_call_to_come(values[name])
            except ValidationError as error:
                form.errors[name] = form.error_class(error.messages)
        return None if form.errors else self._call(values)

    def _tell(self, rule: JurisdictionRule, worked: Worked) -> None:
        """Put each date that was worked out beside its field, and keep what was shown."""
        for name in DATES:
            if name in worked:
                self.form[name].help_text = self._words(computed_at(worked, name), worked[name]["working"])
        self.shown = fingerprint(rule, worked)

    def _words(self, at: datetime | None, working: str) -> str | SafeString:
        if at is None:
            return working
        moment = format_moment(at, self.form.job.time_zone)
        return format_html("<b>{}</b> is taken if this is empty. {}", moment, working)
