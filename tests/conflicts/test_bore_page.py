"""The page of one bore, its state and its document: current figures in full, or none at all."""

import json
import re

import pytest
from django.urls import reverse
from django.utils.html import escape

from conflicts.assess import store_assessment
from conflicts.models import Bore, Reassessment
from conflicts.reassess import queue_outdated
from locates.models import Mark, TestHole
from tests.factories import (
    JurisdictionRuleFactory,
    MarkFactory,
    PersonFactory,
    ResponseFactory,
    TestHoleFactory,
    TicketFactory,
    line,
    person_in_role,
    point,
    small_job,
)

pytestmark = pytest.mark.django_db

FIGURES = ("Horizontal", "Vertical", "Separation", "Worst case", "Required", "Likely")


@pytest.fixture
def foreman(client):
    client.force_login(person_in_role("Foreman"))
    return client


@pytest.fixture
def bore() -> Bore:
    """A bore whose stored figures are current."""
    stored = small_job().bores.get()
    store_assessment(stored.id)
    return stored


def page_text(client, bore) -> str:
    response = client.get(reverse("conflicts:bore", args=[bore.id]))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def document_of(client, bore) -> dict:
    return client.get(reverse("conflicts:assessment", args=[bore.id])).json()


def addresses(bore) -> list[str]:
    return [reverse(f"conflicts:{name}", args=[bore.id]) for name in ("bore", "bore_state", "assessment")]


def test_page_state_and_document_ask_for_a_login(client, bore):
    for address in addresses(bore):
        response = client.get(address)
        assert response.status_code == 302
        assert response.url == f"{reverse('login')}?next={address}"


def test_page_state_and_document_ask_for_a_role(client, bore):
    client.force_login(PersonFactory())
    assert [client.get(address).status_code for address in addresses(bore)] == [403, 403, 403]


def test_page_state_and_document_only_read(foreman, bore):
    for address in addresses(bore):
        for method in (foreman.post, foreman.put, foreman.delete):
            assert method(address).status_code == 405


def test_page_state_and_document_are_never_kept_by_a_cache(foreman, bore):
    for address in addresses(bore):
        assert "no-store" in foreman.get(address).headers["Cache-Control"]


def test_a_bore_that_is_not_there_is_not_found(foreman, bore):
    Bore.objects.all().delete()
    assert [foreman.get(address).status_code for address in addresses(bore)] == [404, 404, 404]


def test_what_holds_comes_before_the_crossings(foreman, bore):
    page = page_text(foreman, bore)
    assert page.index('id="what-holds"') < page.index('id="crossings"')


def test_each_check_stands_with_its_sentence(foreman, bore):
    page = page_text(foreman, bore)
    checks = document_of(foreman, bore)["checks"]
    assert len(checks) == 8
    for check in checks:
        assert escape(check["sentence"]) in page
    held = sum(check["holds"] for check in checks)
    assert held
    verb = "holds" if held == 1 else "hold"
    assert f"Do not drill. {held} of {len(checks)} checks {verb}." in page


def test_each_check_that_holds_leads_to_the_place_to_act(client, bore):
    TicketFactory(job=bore.job, legal_start_at=None, expires_at=None)
    Bore.objects.update(bend_radius_m=None, planned_finish_at=None)
    TestHole.objects.update(is_open=False, mark=None)
    store_assessment(bore.id)
    job_page = reverse("conflicts:job", args=[bore.job_id])
    client.force_login(person_in_role("Foreman"))
    held = {check["code"] for check in document_of(client, bore)["checks"] if check["holds"]}
    assert {"tickets", "surface", "profile", "watch_holes"} <= held
    assert steps(client, bore, "tickets") == ["#cover", f"{job_page}#tickets"]
    assert steps(client, bore, "surface") == [f"{job_page}#surface-features", f"{job_page}#test-holes"]
    assert steps(client, bore, "watch_holes") == [f"{job_page}#test-holes"]
    # Who may not change the bore is shown what is recorded of it.
    assert steps(client, bore, "profile") == ["#plan"]
    client.force_login(person_in_role("Coordinator"))
    assert steps(client, bore, "profile") == [reverse("conflicts:bore-edit", args=[bore.id])]
    for code in held:
        assert steps(client, bore, code), code


def steps(client, bore, code) -> list[str]:
    """Addresses of the links of one check that holds; one within the page leads to a part that is there."""
    page = page_text(client, bore)
    check = page.split(f'id="check-{code}"')[1].split("</li> <li class")[0].split("</section>")[0]
    found = re.findall('href="([^"]+)"', check.replace('href="#sign-holds"', "").split('class="gaps"')[0])
    found = [address for address in found if not address.startswith("#verdict-")]
    assert all(f'id="{address[1:]}"' in page for address in found if address.startswith("#"))
    return found


def test_each_crossing_stands_with_verdict_shape_sentence_and_labelled_figures(foreman, bore):
    page = page_text(foreman, bore)
    [crossing] = document_of(foreman, bore)["crossings"]
    assert escape(crossing["sentence"]) in page
    assert f'<use href="#verdict-{crossing["verdict"]}"></use></svg>{crossing["verdict"]}</span>' in page
    for label in FIGURES:
        assert f'data-label="{label}"' in page
    assert crossing["mark_ref"] in page
    assert escape(crossing["operator"]) in page


def test_a_crossing_that_is_not_clear_is_named_under_what_holds_with_a_link_to_its_figures(foreman, bore):
    TestHole.objects.all().delete()
    store_assessment(bore.id)
    page = page_text(foreman, bore)
    [crossing] = document_of(foreman, bore)["crossings"]
    link = page.split('<a href="#crossing-1">')[1].split("</a>")[0]
    assert link.endswith(f"unexposed</span> {crossing['mark_ref']} at 1+64.0 ft")
    assert 'id="crossing-1"' in page


def test_figures_of_a_feet_job_are_in_feet_and_inches(foreman, bore):
    page = page_text(foreman, bore)
    assert '<th scope="col" role="columnheader">Station, ft</th>' in page
    # The station of the mark is 50 m from the entry: 164.0 ft.
    assert "<b>1+64.0</b>" in page
    # The default requirement of 0.305 m is a hair above a foot, and a requirement is never rounded down.
    assert 'data-label="Required"><span>1 ft 0 1/8 in</span>' in page


def test_figures_of_a_metric_job_are_in_metres(foreman, bore):
    bore.job.show_units = "metric"
    bore.job.save()
    store_assessment(bore.id)
    page = page_text(foreman, bore)
    assert '<th scope="col" role="columnheader">Station, m</th>' in page
    assert "<b>0+050.0</b>" in page
    assert 'data-label="Required"><span>0.305 m</span>' in page
    assert " ft" not in page


def test_a_clearance_is_never_rounded_up(foreman, bore):
    [crossing] = document_of(foreman, bore)["crossings"]
    shown = page_text(foreman, bore).split('data-label="Worst case"><span>')[1].split("</span>")[0]
    feet, inches = shown.split(" ft ")
    whole, *fraction = inches.removesuffix(" in").split()
    parts = [tuple(map(int, part.split("/"))) for part in fraction]
    shown_in = int(feet) * 12 + int(whole) + sum(above / below for above, below in parts)
    worst_in = crossing["worst_case_m"] / 0.0254
    assert 0 <= worst_in - shown_in < 0.125


def test_a_figure_that_cannot_be_known_is_called_unknown_and_never_zero(foreman, bore):
    TestHole.objects.all().delete()
    store_assessment(bore.id)
    page = page_text(foreman, bore)
    [crossing] = document_of(foreman, bore)["crossings"]
    assert crossing["vertical_m"] is None
    for label in ("Vertical", "Separation", "Worst case", "Likely"):
        assert f'data-label="{label}"><span><span class="unknown">unknown</span></span></td>' in page


def test_times_are_in_the_zone_of_the_job(foreman, bore):
    page = page_text(foreman, bore)
    # 2026-11-10 13:00 UTC in New York.
    assert "Tue Nov 10, 2026, 8:00 am EST" in page
    bore.job.time_zone = "America/Denver"
    bore.job.save()
    store_assessment(bore.id)
    assert "Tue Nov 10, 2026, 6:00 am MST" in page_text(foreman, bore)


def test_the_digest_of_the_inputs_is_shown_short_and_in_full(foreman, bore):
    bore.refresh_from_db()
    digest = bore.assessment.inputs_digest
    page = page_text(foreman, bore)
    assert f'<code title="{digest}">{digest[:12]}</code>' in page
    assert f"<code>{digest}</code>" in page


def test_stretches_that_no_ticket_covers_are_named(foreman, bore):
    bore.job.tickets.all().delete()
    store_assessment(bore.id)
    page = page_text(foreman, bore)
    assert "Stretches that no ticket in force covers" in page
    assert "station 0+00.0 to 3+28.1 ft" in page


def test_a_bore_that_meets_no_logged_line_does_not_claim_that_nothing_is_there(foreman, bore):
    bore.job.marks.all().delete()
    store_assessment(bore.id)
    assert "not that nothing is buried here" in page_text(foreman, bore)


def change_an_input(bore) -> None:
    Mark.objects.filter(job=bore.job).update(stated_width_m=0.4)


def test_figures_of_older_inputs_are_not_shown(foreman, bore):
    change_an_input(bore)
    page = page_text(foreman, bore)
    assert "Being recalculated" in page
    assert "What holds" not in page
    for withheld in (*FIGURES, "verdict-clear&quot;", "Inputs digest", "Do not drill", "Nothing holds"):
        assert f'"{withheld}"' not in page
        assert f">{withheld}" not in page


def test_figures_never_computed_are_not_shown_either(foreman):
    page = page_text(foreman, small_job().bores.get())
    assert "Being recalculated" in page
    assert 'data-label="Separation"' not in page


def test_a_bore_that_was_given_up_says_why_and_is_not_queued_again(foreman, bore):
    change_an_input(bore)
    queue_outdated([bore.pk])
    row = Reassessment.objects.get(bore=bore)
    row.refuse("The ground of the bore runs backwards")
    page = page_text(foreman, bore)
    assert "The ground of the bore runs backwards." in page
    assert "Do not drill. No clearance can be computed." in page
    row.refresh_from_db()
    assert row.state == "refused"


def test_a_list_shows_no_figures_of_older_inputs(foreman, bore):
    change_an_input(bore)
    for address in (reverse("conflicts:jobs"), reverse("conflicts:job", args=[bore.job_id])):
        page = foreman.get(address).content.decode()
        assert "Being recalculated" in page
        assert "Crossings by verdict" not in page


def test_a_list_counts_the_verdicts_and_names_what_holds(foreman, bore):
    [crossing] = document_of(foreman, bore)["crossings"]
    for address in (reverse("conflicts:jobs"), reverse("conflicts:job", args=[bore.job_id])):
        page = " ".join(foreman.get(address).content.decode().split())
        assert f"</svg>1 {crossing['verdict']}</span>" in page
        assert "<strong>Holds:</strong>" in page


def test_the_state_says_whether_the_figures_are_current(foreman, bore):
    address = reverse("conflicts:bore_state", args=[bore.id])
    assert foreman.get(address).json() == {"is_settled": True}
    change_an_input(bore)
    assert foreman.get(address).json() == {"is_settled": False}


def test_the_document_is_computed_from_the_present_inputs_whatever_is_stored(foreman, bore):
    before = document_of(foreman, bore)
    change_an_input(bore)
    after = document_of(foreman, bore)
    assert before["inputs_digest"] != after["inputs_digest"]
    assert list(after) == [
        "schema_version",
        "job",
        "bore",
        "length_m",
        "inputs_digest",
        "checks",
        "coverage_gaps",
        "crossings",
    ]
    assert json.loads(json.dumps(after, allow_nan=False)) == after


@pytest.fixture
def unassessable() -> Bore:
    """A bore of a job for which neither the rule nor a person gives a tolerance zone."""
    rule = JurisdictionRuleFactory(tolerance_zone_m=None, tolerance_is_sure=False)
    return small_job(jurisdiction=rule).bores.get()


def test_a_bore_that_cannot_be_computed_says_why_and_is_not_waited_for(foreman, unassessable):
    page = page_text(foreman, unassessable)
    assert "Do not drill. No clearance can be computed." in page
    assert "has no tolerance zone; enter one in the job" in page
    assert "Being recalculated" not in page
    state = foreman.get(reverse("conflicts:bore_state", args=[unassessable.id]))
    assert state.json() == {"is_settled": True}


def test_a_document_that_cannot_be_computed_is_a_conflict_with_the_reason(foreman, unassessable):
    response = foreman.get(reverse("conflicts:assessment", args=[unassessable.id]))
    assert response.status_code == 409
    assert "has no tolerance zone" in response.json()["error"]


def test_a_list_shows_the_other_bores_when_one_cannot_be_computed(foreman, bore, unassessable):
    page = " ".join(foreman.get(reverse("conflicts:jobs")).content.decode().split())
    assert "<strong>Cannot be computed:</strong>" in page
    assert "</svg>1 clear</span>" in page


def test_the_page_costs_as_many_queries_with_many_crossings_as_with_one(
    foreman, bore, django_assert_max_num_queries
):
    address = reverse("conflicts:bore", args=[bore.id])

    def queries() -> int:
        foreman.get(address)
        with django_assert_max_num_queries(50) as captured:
            assert "What holds" in foreman.get(address).content.decode()
        return len(captured)

    one = queries()
    for east_m in (20, 30, 40, 60):
        mark = MarkFactory(job=bore.job, geometry=line((east_m, -15), (east_m, 15)))
        ResponseFactory(ticket=bore.job.tickets.get(), operator=mark.operator)
        TestHoleFactory(job=bore.job, mark=mark, position=point(east_m, 0))
    store_assessment(bore.id)
    assert len(document_of(foreman, bore)["crossings"]) == 5
    assert queries() == one
