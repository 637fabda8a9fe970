"""Whatever happens to the records and the clock, a release never reads in force while a check holds."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from conflicts.assess import assess
from conflicts.desk.variance import end_variance, request_variance, sign_variance
from conflicts.desk.withdraw_release import withdraw_release
from conflicts.errors import ReleaseHeldError, ShiftError, VarianceError
from conflicts.ground_changes import changes_since
from conflicts.models import Release, ReleaseWithdrawal, Variance, VarianceEnd, VarianceSignature
from conflicts.release import sign_release, standing_at
from locates.models import Mark, Response, TestHole, Ticket
from tests import factories
from tests.factories import line

pytestmark = pytest.mark.django_db

ZONE = ZoneInfo("America/New_York")
HOURS = st.sampled_from([-30, -3, 2, 5, 9, 9, 30])


class Site(RuleBasedStateMachine):
    """One bore of one job; people sign, records change, time goes on and, by a wrong clock, back."""

    @initialize()
    def begin(self) -> None:
        noon = timezone.now().astimezone(ZONE).replace(hour=12, minute=0, second=0, microsecond=0)
        self.at: datetime = noon - timedelta(days=1)
        self.job = factories.small_job()
        self.job.tickets.update(
            called_at=noon - timedelta(days=12),
            legal_start_at=noon - timedelta(days=9),
            expires_at=noon + timedelta(days=20),
        )
        self.job.bores.update(
            planned_start_at=noon - timedelta(days=3), planned_finish_at=self.at + timedelta(hours=11)
        )
        self.bore = self.job.bores.get()
        self.foreman, self.manager = factories.PersonFactory(), factories.PersonFactory()
        self.ended: set[object] = set()
        factories.DailyWalkFactory(bore=self.bore, walked_at=self.at)
        self.sign()

    def mine(self) -> list[Release]:
        return list(Release.objects.filter(bore=self.bore).with_course())

    def changed(self) -> None:
        """What the model itself knows: every release that was signed before has come to its end."""
        self.ended |= {one.pk for one in self.mine()}

    def set(self, record, **values) -> None:
        before = {name: getattr(record, name) for name in values}
        for name, value in values.items():
            setattr(record, name, value)
        record.save()
        if before != values:
            self.changed()

    @rule()
    def sign(self) -> None:
        release = Release(
            bore=self.bore,
            crew="Crew 2",
            rig="Rig 7",
            shift_from=self.at,
            shift_until=self.at + timedelta(hours=8),
        )
        holds = [one for one in assess(self.bore, self.at)["checks"] if one["holds"]]
        try:
            sign_release(release, by=self.foreman, at=self.at)
        except (ReleaseHeldError, ShiftError):
            assert holds
        else:
            assert not holds

    @rule(answers=st.tuples(st.booleans(), st.booleans(), st.booleans()) | st.just((True, True, True)))
    def walk(self, answers) -> None:
        marks, device, holes = answers
        factories.DailyWalkFactory(
            bore=self.bore, walked_at=self.at, marks_intact=marks, device_checked=device, holes_open=holes
        )
        if not all(answers):
            self.changed()

    @rule(is_open=st.sampled_from([True, False, None]))
    def turn_to_the_hole(self, is_open) -> None:
        self.set(TestHole.objects.get(job=self.job), is_open=is_open)

    @rule(east=st.sampled_from([50.0, 50.0, 53.0]))
    def move_the_mark(self, east) -> None:
        mark = Mark.objects.get(job=self.job)
        mark.geometry = line((east, -15), (east, 15))
        mark.save()
        self.changed()

    @rule(answer=st.sampled_from(["marked", "awaiting", "no_facilities"]))
    def answer(self, answer) -> None:
        self.set(Response.objects.get(ticket__job=self.job), response=answer)

    @rule(hours=st.sampled_from([1, 4, 400]))
    def date_the_ticket(self, hours) -> None:
        self.set(Ticket.objects.get(job=self.job), expires_at=self.at + timedelta(hours=hours))

    @rule(hours=st.sampled_from([2, 30]))
    def excuse_the_holes(self, hours) -> None:
        asked = Variance(bore=self.bore, subject="check", check_code="watch_holes", reason="Two people look.")
        request_variance(asked, by=self.foreman, at=self.at)
        signature = VarianceSignature(variance=asked, valid_until=self.at + timedelta(hours=hours))
        with pytest.raises(VarianceError):
            sign_variance(
                VarianceSignature(variance_id=asked.pk, valid_until=signature.valid_until),
                by=self.foreman,
                at=self.at,
            )
        sign_variance(signature, by=self.manager, at=self.at)
        self.changed()

    @rule()
    def end_the_variances(self) -> None:
        for one in Variance.objects.filter(bore=self.bore, end=None):
            end_variance(VarianceEnd(variance_id=one.pk, reason="Done."), by=self.manager, at=self.at)
            self.changed()

    @rule(hours=st.sampled_from([3, 12]))
    def set_all_right_and_sign(self, hours) -> None:
        """As people do who want to drill: what holds is settled, the bore walked, and a release signed."""
        self.set(TestHole.objects.get(job=self.job), is_open=True)
        self.set(Response.objects.get(ticket__job=self.job), response="marked")
        self.set(Ticket.objects.get(job=self.job), expires_at=self.at + timedelta(hours=400))
        self.move_the_mark(50.0)
        self.bore.refresh_from_db()
        self.set(self.bore, planned_finish_at=self.at + timedelta(hours=hours))
        self.walk((True, True, True))
        self.sign()

    @rule()
    def take_back(self) -> None:
        for one in self.mine()[:1]:
            if not hasattr(one, "withdrawal"):
                withdraw_release(
                    ReleaseWithdrawal(release_id=one.pk, reason="Leak."), by=self.manager, at=self.at
                )

    @rule(hours=HOURS)
    def pass_time(self, hours) -> None:
        self.at += timedelta(hours=hours)

    @rule(hours=st.sampled_from([2, 5, 9]))
    def wait(self, hours) -> None:
        self.at += timedelta(hours=hours)

    @invariant()
    def no_release_says_yes_where_it_may_not(self) -> None:
        if not hasattr(self, "bore"):
            return
        holds = None
        for one in self.mine():
            standing = standing_at(one, self.at, changes_since(one.bore, one.last_event_id))
            if not standing.is_in_force:
                continue
            if holds is None:
                holds = [check for check in assess(self.bore, self.at)["checks"] if check["holds"]]
            assert holds == []
            assert one.pk not in self.ended
            assert one.shift_from <= self.at < one.shift_until
            assert self.at.astimezone(ZONE).date() == one.signed_at.astimezone(ZONE).date()
            assert not hasattr(one, "withdrawal") or one.withdrawal.withdrawn_at > self.at
            assert standing.lapses_at > self.at


def test_no_course_of_things_makes_a_release_say_yes_where_a_check_holds():
    run_state_machine_as_test(
        Site,
        settings=settings(
            max_examples=25,
            stateful_step_count=14,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
