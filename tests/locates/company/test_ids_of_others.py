"""A form that carries the id of another company's record stores what was typed, under an id of its own."""

from django.urls import reverse

from conflicts.models import (
    CameraInspection,
    CloseOut,
    CrossingWatch,
    DailyWalk,
    DamageReport,
    RecordMaking,
    Release,
    ReleaseWithdrawal,
    Variance,
    VarianceEnd,
    VarianceSignature,
)
from conflicts.views.signed_forms import new_id
from locates.models import FacilityOperator, Job, Response
from tests.companies import TwoCompanies, client_of
from tests.factories import PASSWORD
from tests.page_forms import form_of


class TestIdsOfOthers(TwoCompanies):
    def send(self, role, name, key, taken, typed, *, shown):
        """The answer to a page's form with an id that is taken, and with what somebody typed."""
        client, address = client_of(self.ours.people[role]), reverse(name, args=key)
        controls = form_of(client, address) if shown else {}
        return client.post(address, controls | {"new_id": str(taken)} | typed)

    def assert_one_more(self, kind, lookup, role, name, key, typed, *, shown=True):
        taken = kind._base_manager.get(**{lookup: self.theirs.job}).pk
        before = set(kind._base_manager.filter(**{lookup: self.ours.job}).values_list("pk", flat=True))
        answer = self.send(role, name, key, taken, typed, shown=shown)
        assert answer.status_code == 302, answer.content.decode()
        assert str(taken) not in answer.url
        after = set(kind._base_manager.filter(**{lookup: self.ours.job}).values_list("pk", flat=True))
        assert before < after
        assert len(after - before) == 1
        assert taken not in after
        assert kind._base_manager.filter(pk=taken, **{lookup: self.theirs.job}).exists()

    def test_an_operator_is_added(self):
        typed = {"name": "Second Gas"}
        self.assert_one_more(
            FacilityOperator, "job", "Coordinator", "locates:operator-add", [self.ours.job.pk], typed
        )

    def test_an_answer_is_added(self):
        ticket = self.ours.job.tickets.get()
        typed = {"operator": self.ours.job.operators.get().name, "response": "m", "page": "ticket"}
        self.assert_one_more(
            Response,
            "ticket__job",
            "Coordinator",
            "locates:response-quick",
            [ticket.pk],
            typed,
            shown=False,
        )

    def test_a_job_is_begun(self):
        typed = {"name": "Third Street", "time_zone": "America/New_York", "jurisdiction": "VA"}
        client = client_of(self.ours.people["Coordinator"])
        controls = form_of(client, reverse("locates:job-add"))
        rule = self.ours.job.jurisdiction_id
        sent = controls | typed | {"jurisdiction": str(rule), "new_id": str(self.theirs.job.pk)}
        answer = client.post(reverse("locates:job-add"), sent)
        assert answer.status_code == 302
        made = Job.objects.get(name="Third Street")
        assert made.organisation == self.ours.organisation
        assert str(made.pk) in answer.url

    def test_damage_is_reported(self):
        typed = {"facility_type": "electric", "kind": "near_miss", "what_happened": "A cable was scraped."}
        key = [self.ours.job.pk]
        self.assert_one_more(DamageReport, "job", "Foreman", "conflicts:damage-add", key, typed)

    def test_a_walk_a_watch_and_an_inspection_are_signed(self):
        bore = self.ours.job.bores.get()
        for kind, name, key, typed in (
            (
                DailyWalk,
                "conflicts:walk",
                [bore.pk],
                {"marks_intact": "yes", "device_checked": "yes", "device": "receiver 7", "holes_open": "yes"},
            ),
            (CrossingWatch, "conflicts:watch", [bore.pk, 0, "reaming"], {"seen": "no"}),
            (
                CameraInspection,
                "conflicts:camera",
                [bore.pk],
                {
                    "mark": str(self.ours.job.marks.get().pk),
                    "stage": "before",
                    "inspected_at": "2024-11-12T08:15",
                    "inspected_by": "Lark Cameras",
                    "result": "no_damage",
                },
            ),
        ):
            self.assert_one_more(kind, "bore__job", "Foreman", name, key, typed)

    def test_a_release_is_taken_back(self):
        release = Release.objects.filter(bore__job=self.ours.job, withdrawal=None).get()
        typed = {"reason": "Rain.", "password": PASSWORD}
        self.assert_one_more(
            ReleaseWithdrawal, "release__bore__job", "Foreman", "conflicts:release", [release.pk], typed
        )

    def test_a_clearance_record_is_asked_for(self):
        taken, bore = RecordMaking.objects.get(bore__job=self.theirs.job), self.ours.job.bores.get()
        client = client_of(self.ours.people["Foreman"])
        address = reverse("conflicts:clearance-record", args=[bore.pk])
        assert client.post(address, {"request_id": str(taken.request_id)}).status_code == 302
        assert RecordMaking.objects.filter(bore=bore).count() == 2
        assert RecordMaking.objects.get(request_id=taken.request_id).bore_id == taken.bore_id

    def test_what_signs_takes_the_id_that_it_was_shown_with_at_home_alone(self):
        at_home = {
            Release: {"bore": self.ours.job.bores.get()},
            Variance: {"bore": self.ours.job.bores.get()},
            CloseOut: {"bore": self.ours.job.bores.get()},
            VarianceSignature: {"variance": Variance.objects.get(bore__job=self.ours.job, end__isnull=False)},
            VarianceEnd: {"variance": Variance.objects.get(bore__job=self.ours.job, end__isnull=False)},
        }
        for kind, home in at_home.items():
            own = kind.objects.filter(**home).first()
            other = kind.objects.exclude(**home).first()
            assert new_id(_Sent(own.pk), kind, **home) == own.pk
            assert new_id(_Sent(other.pk), kind, **home) != other.pk


class _Sent:
    """As much of a request as is asked for the id that a form carries."""

    def __init__(self, key):
        self.POST = {"new_id": str(key)}
