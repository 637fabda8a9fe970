"""A job begun from nothing, and its settings changed: what is typed is read, refused or kept, never lost."""

import pytest
from django.urls import reverse

from conflicts.models import Reassessment
from locates.models import ClearanceRequirement, FacilityOperator, Job
from tests.factories import (
    BoreFactory,
    ClearanceRequirementFactory,
    FacilityOperatorFactory,
    JobFactory,
    JurisdictionRuleFactory,
    OrganisationFactory,
    person_in_role,
    seeded_rule,
)
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db

ADD = "/jobs/add/"


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


def filled(client, **values):
    return form_of(client, ADD) | {
        "name": "Fern Lane",
        "jurisdiction": str(seeded_rule("VA").pk),
        "time_zone": "America/New_York",
        **values,
    }


def words_of(response):
    return " ".join(response.content.decode().split())


def test_a_job_begins_with_its_operators_and_required_clearances(coordinator):
    sent = filled(
        coordinator,
        tolerance_zone_m="30 in",
        slope_ratio="2 %",
        outside_electric="4 in",
        **{
            "operators-0-name": "Tallow Gas",
            "operators-0-emergency_phone": "555-0101",
            "requirements-0-operator_name": "Tallow Gas",
            "requirements-0-facility_type": "gas_oil_steam",
            "requirements-0-crossing_m": "2 ft",
            "requirements-0-alongside_m": "3 ft",
        },
    )
    response = coordinator.post(ADD, sent, follow=True)
    job = Job.objects.get()
    assert response.redirect_chain[0][0] == reverse("conflicts:job", args=[job.pk]) + "#main"
    assert "Saved: Job Fern Lane" in words_of(response)
    assert (job.tolerance_zone_m, job.slope_ratio) == (0.762, 0.02)
    assert job.default_outside_m == {"electric": 0.1016}
    assert job.organisation.name == "Larkfield Boring"
    assert job.edited_by.username == "ruth"
    assert FacilityOperator.objects.get().emergency_phone == "555-0101"
    requirement = ClearanceRequirement.objects.get()
    assert (requirement.operator.name, requirement.crossing_m, requirement.alongside_m) == (
        "Tallow Gas",
        0.6096,
        0.9144,
    )


def test_a_job_is_of_the_company_of_whoever_begins_it_whatever_is_sent(coordinator):
    other = OrganisationFactory()
    coordinator.post(ADD, filled(coordinator, organisation=str(other.pk)))
    assert Job.objects.get().organisation.name == "Larkfield Boring"


def test_whoever_belongs_to_no_company_begins_no_job_and_is_told_whom_to_ask(client):
    client.force_login(person_in_role("Coordinator", membership=None))
    for answer in (client.get(ADD), client.post(ADD, {"name": "Fern Lane"})):
        assert answer.status_code == 403
        assert "Ask whoever keeps the accounts to put you into your company" in words_of(answer)
    assert not Job.objects.exists()


def test_a_job_sent_twice_by_a_hurried_hand_is_stored_once(coordinator):
    sent = filled(coordinator)
    first, second = coordinator.post(ADD, sent), coordinator.post(ADD, sent)
    assert first.url == second.url
    assert Job.objects.count() == 1


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"name": ""}, "This field is required"),
        ({"tolerance_zone_m": "2"}, "2 of what? The unit is missing"),
        ({"tolerance_zone_m": "-2 ft"}, "Accepted is a number, 0 or more."),
        ({"slope_ratio": "2"}, "write it as -12.5 %"),
        ({"outside_electric": "0 in"}, "Accepted is a size above 0."),
        ({"time_zone": "Mars/Base"}, "Select a valid choice"),
        ({"operators-0-contact": "only a contact"}, "Operator 1, name"),
        ({"operators-0-name": "A", "operators-1-name": "A"}, "a name that no other operator of the job has"),
        (
            {
                "requirements-0-operator_name": "Nobody",
                "requirements-0-crossing_m": "1 ft",
                "requirements-0-alongside_m": "1 ft",
            },
            "the name of an operator written above",
        ),
        (
            {"requirements-0-crossing_m": "-1 ft", "requirements-0-alongside_m": "1 ft"},
            "Accepted is a length, 0 or more.",
        ),
        (
            {f"requirements-{row}-{kind}_m": "1 ft" for row in (0, 1) for kind in ("crossing", "alongside")},
            "one requirement for an operator and type",
        ),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_nothing_typed_is_lost(coordinator, values, words):
    sent = filled(coordinator, datum="brass disk", **values)
    response = coordinator.post(ADD, sent)
    page = words_of(response)
    assert response.status_code == 200
    assert "Nothing is saved yet" in page
    assert words in page
    assert 'aria-invalid="true"' in page
    assert 'value="brass disk"' in page
    for typed in values.values():
        assert not typed or f'value="{typed}"' in page or "Mars" in typed
    assert not Job.objects.exists()


def test_a_rule_without_a_width_asks_for_one(coordinator):
    rule = JurisdictionRuleFactory(code="ZN", tolerance_zone_m=None, tolerance_is_sure=False)
    sent = filled(coordinator, jurisdiction=str(rule.pk))
    assert "The rule of ZN gives no width: write one here." in words_of(coordinator.post(ADD, sent))
    coordinator.post(ADD, sent | {"tolerance_zone_m": "0.5 m"})
    assert Job.objects.get().tolerance_zone_m == 0.5


def test_a_name_is_refused_while_a_live_job_has_it(coordinator):
    JobFactory(name="Fern Lane")
    sent = filled(coordinator)
    assert "a name that no other job of the organisation has" in words_of(coordinator.post(ADD, sent))
    assert Job.objects.count() == 1


def test_settings_sent_back_as_they_were_shown_stay_the_same_to_the_last_digit(coordinator):
    job = JobFactory(bore_horizontal_m=0.3001, default_outside_m={"electric": 0.12345}, slope_ratio=0.01234)
    url = reverse("locates:job-edit", args=[job.pk])
    assert coordinator.post(url, form_of(coordinator, url)).status_code == 302
    again = Job.objects.get()
    assert (again.bore_horizontal_m, again.slope_ratio) == (0.3001, 0.01234)
    assert again.default_outside_m == {"electric": 0.12345}
    assert again.version == 2


def test_settings_are_shown_in_the_units_of_the_job(coordinator):
    job = JobFactory(show_units="metric", tolerance_zone_m=0.6)
    shown = form_of(coordinator, reverse("locates:job-edit", args=[job.pk]))
    assert shown["tolerance_zone_m"] == "0.600 m"


def test_the_mean_height_stays_for_the_bores_were_measured_at_it(coordinator):
    job = JobFactory(mean_height_m=150.0)
    url = reverse("locates:job-edit", args=[job.pk])
    coordinator.post(url, form_of(coordinator, url) | {"mean_height_m": "900 m"})
    assert Job.objects.get().mean_height_m == 150.0


def test_a_job_under_an_older_version_of_a_rule_keeps_it(coordinator):
    job = JobFactory()
    JurisdictionRuleFactory(code="VA", version=2)
    url = reverse("locates:job-edit", args=[job.pk])
    coordinator.post(url, form_of(coordinator, url))
    assert Job.objects.get().jurisdiction == job.jurisdiction


def test_changed_settings_have_the_bores_computed_anew(coordinator):
    job = BoreFactory().job
    url = reverse("locates:job-edit", args=[job.pk])
    coordinator.post(url, form_of(coordinator, url) | {"bore_vertical_m": "1 ft"})
    assert Job.objects.get().bore_vertical_m == 0.3048
    assert Reassessment.objects.get().wanted == 1


def test_operators_and_required_clearances_are_added_and_changed(coordinator):
    job = JobFactory()
    operators = reverse("locates:operator-add", args=[job.pk])
    coordinator.post(operators, form_of(coordinator, operators) | {"name": "Tallow Gas"})
    operator = job.operators.get()
    url = reverse("locates:operator-edit", args=[operator.pk])
    coordinator.post(url, form_of(coordinator, url) | {"emergency_phone": "555-0199"})
    assert job.operators.get().emergency_phone == "555-0199"
    wanted = reverse("locates:requirement-add", args=[job.pk])
    values = {"operator": str(operator.pk), "crossing_m": "1 ft", "alongside_m": "2 ft"}
    coordinator.post(wanted, form_of(coordinator, wanted) | values)
    url = reverse("locates:requirement-edit", args=[job.requirements.get().pk])
    coordinator.post(url, form_of(coordinator, url) | {"crossing_m": "18 in"})
    assert job.requirements.get().crossing_m == 0.4572


def test_a_second_requirement_for_the_same_lines_is_refused(coordinator):
    job = ClearanceRequirementFactory().job
    wanted = reverse("locates:requirement-add", args=[job.pk])
    sent = form_of(coordinator, wanted) | {"crossing_m": "1 ft", "alongside_m": "2 ft"}
    assert "one requirement for each facility type" in words_of(coordinator.post(wanted, sent))


def test_a_requirement_cannot_name_the_operator_of_another_job(coordinator):
    other = FacilityOperatorFactory()
    wanted = reverse("locates:requirement-add", args=[JobFactory().pk])
    sent = form_of(coordinator, wanted) | {
        "operator": str(other.pk),
        "crossing_m": "1 ft",
        "alongside_m": "1 ft",
    }
    assert "Select a valid choice" in words_of(coordinator.post(wanted, sent))
