"""The page of one crossing: its figures with their sums, the records behind them, and what to do next."""

import re
from html import unescape

import pytest
from django.urls import reverse

from conflicts.assess import compute_bores, store_assessment
from conflicts.models import Bore
from locates.minus import plain_minus
from locates.models import Mark, TestHole
from tests.factories import (
    ClearanceRequirementFactory,
    JurisdictionRuleFactory,
    MarkFactory,
    PersonFactory,
    TestHoleFactory,
    line,
    person_in_role,
    point,
    small_job,
)

pytestmark = pytest.mark.django_db

TAG = re.compile(r"<[^>]*>")
INCH_M = 0.0254


@pytest.fixture
def foreman(client):
    client.force_login(person_in_role("Foreman"))
    return client


@pytest.fixture
def bore() -> Bore:
    stored = small_job().bores.get()
    store_assessment(stored.id)
    return stored


def address(bore, sequence=0) -> str:
    return reverse("conflicts:crossing", args=[bore.id, sequence])


def page_text(client, bore, sequence=0) -> str:
    """The page's words in one line, without its markup."""
    store_assessment(bore.id)
    response = client.get(address(bore, sequence))
    assert response.status_code == 200
    return " ".join(unescape(TAG.sub(" ", response.content.decode())).split())


def rows_of_figures(client, bore) -> dict[str, str]:
    """The markup of every figure by its name."""
    store_assessment(bore.id)
    page = client.get(address(bore)).content.decode()
    rows = page.split('<dl class="worked">')[1].split("</dl>")[0].split("<dt>")[1:]
    return {unescape(row.split("</dt>")[0]): row.split("</dt>")[1] for row in rows}


def worked(client, bore) -> dict[str, str]:
    """Every figure by its name: result, formula, sum and note in one line."""
    rows = rows_of_figures(client, bore)
    return {name: " ".join(unescape(TAG.sub(" ", row)).split()) for name, row in rows.items()}


def clearance_of(bore):
    return compute_bores([bore.pk])[bore.pk].crossings[0].clearance


def summed(client, bore, name) -> tuple[float, float]:
    """What the sum of a figure comes to, and what it says that it comes to, in metres."""
    row = unescape(rows_of_figures(client, bore)[name])
    formula, stated = row.split('<p class="filled">')[1].split("</p>")[0].split(" = ")
    for written, meant in (
        (" in", ""),
        ("\N{MULTIPLICATION SIGN}", "*"),
        ("²", "**2"),
        ("√", "root"),
    ):
        formula = formula.replace(written, meant)
    formula = plain_minus(formula)
    assert re.fullmatch(r"[\d.()root* +-]+", formula), formula
    reckoned = eval(formula, {"root": lambda square: square**0.5})  # noqa: S307 - digits and signs alone
    return reckoned * INCH_M, float(plain_minus(stated).removesuffix(" in")) * INCH_M


def test_the_page_asks_for_a_login_and_for_a_role(client, bore):
    assert client.get(address(bore)).url == f"{reverse('login')}?next={address(bore)}"
    client.force_login(PersonFactory())
    assert client.get(address(bore)).status_code == 403


def test_the_page_only_reads_and_is_never_kept_by_a_cache(foreman, bore):
    assert foreman.post(address(bore)).status_code == 405
    assert "no-store" in foreman.get(address(bore)).headers["Cache-Control"]


def test_a_crossing_that_is_not_there_is_not_found(foreman, bore):
    assert foreman.get(address(bore, 1)).status_code == 404
    Bore.objects.all().delete()
    assert foreman.get(address(bore)).status_code == 404


def test_figures_of_older_inputs_are_not_shown(foreman, bore):
    Mark.objects.update(stated_width_m=0.4)
    page = foreman.get(address(bore)).content.decode()
    assert "Being recalculated" in page
    assert "worked out" not in page


def test_a_bore_that_cannot_be_computed_says_why(foreman):
    rule = JurisdictionRuleFactory(tolerance_zone_m=None, tolerance_is_sure=False)
    page = foreman.get(address(small_job(jurisdiction=rule).bores.get())).content.decode()
    assert "Do not drill. No clearance can be computed." in page


def test_verdict_and_sentence_come_first(foreman, bore):
    page = page_text(foreman, bore)
    sentence = compute_bores([bore.pk])[bore.pk].crossings[0].sentence
    assert page.index(sentence) < page.index("Cross-section") < page.index("Every figure, worked out")


@pytest.mark.parametrize("name", ["Horizontal", "Vertical", "Separation", "Worst case", "Likely"])
def test_every_sum_comes_to_the_figure_of_the_engine(foreman, bore, name):
    # A hole that is off the bore, so that every term counts: slope, tolerance zone, both shares.
    TestHole.objects.update(position=point(50, 1.5), depth_to_top_m=1.2)
    reckoned_m, stated_m = summed(foreman, bore, name)
    field = {"Worst case": "worst_case_m"}.get(name, f"{name.lower()}_m")
    expected_m = getattr(clearance_of(bore), field)
    # Ten terms to a hundredth of an inch, and shares to four places of up to 1 m of errors.
    assert reckoned_m == pytest.approx(stated_m, abs=0.0015)
    stated_m = max(0.0, stated_m) if name == "Horizontal" else stated_m
    assert stated_m == pytest.approx(expected_m, abs=0.006 * INCH_M)


def test_the_extent_shows_the_tolerance_zone_and_both_sizes(foreman, bore):
    words = worked(foreman, bore)["Extent"]
    assert words.startswith("station 1+61.5 to 1+66.5")
    assert words.endswith("24.00 in + 3.94 in + 1.97 in = 29.91 in")


def test_the_error_of_the_line_says_which_hole_or_what_else_it_is_from(foreman, bore):
    hole = bore.job.test_holes.get()
    assert f"In plan: test hole {hole.ref}," in worked(foreman, bore)["Error of the line"]
    TestHole.objects.update(position=point(50, 3))
    assert "In plan: the tolerance zone, since" in worked(foreman, bore)["Error of the line"]
    Mark.objects.update(horizontal_accuracy_m=0.2)
    words = worked(foreman, bore)["Error of the line"]
    assert "In plan: the accuracy that the mark states, since" in words
    assert words.startswith("7 7/8 in in plan")


def test_a_figure_that_cannot_be_known_is_unknown_and_says_why(foreman, bore):
    TestHole.objects.all().delete()
    figures = worked(foreman, bore)
    for name in ("Vertical", "Separation", "Worst case", "Likely"):
        assert figures[name].startswith("unknown No test hole has found the line")
    assert "Error of the line" not in figures


@pytest.mark.parametrize(
    ("operator", "facility_type", "source"),
    [
        (True, "gas_oil_steam", "requirement for this type of"),
        (True, "", "requirement for Brindle"),
        (False, "gas_oil_steam", "requirement for this facility type"),
        (False, "", "requirement for every line"),
    ],
)
def test_what_is_required_says_where_it_is_from(foreman, bore, operator, facility_type, source):
    bore.job.requirements.all().delete()
    ClearanceRequirementFactory(
        job=bore.job,
        operator=bore.job.operators.get() if operator else None,
        facility_type=facility_type,
        crossing_m=0.5,
    )
    words = worked(foreman, bore)["Required"]
    assert words.startswith("1 ft 7 3/4 in")
    assert source in words


def test_with_no_requirement_the_programs_own_counts_and_says_so(foreman, bore):
    bore.job.requirements.all().delete()
    assert "the program\N{RIGHT SINGLE QUOTATION MARK}s own default" in worked(foreman, bore)["Required"]


def test_exposure_names_the_holes_and_how_far_they_are(foreman, bore):
    mark = bore.job.marks.get()
    TestHoleFactory(job=bore.job, mark=mark, ref="Far one", position=point(50, 5))
    TestHoleFactory(job=bore.job, mark=mark, ref="Missed", found=False, depth_to_top_m=None, dug_depth_m=1.0)
    page = page_text(foreman, bore)
    assert "found the line 0 in from the crossing point: within the expose reach of 2 ft 0 in." in page
    assert "Test hole Far one found the line 16 ft 4 7/8 in from the crossing point: beyond" in page
    assert "Test hole Missed did not find the line." in page
    assert "no longer than the spacing rule of 100 ft 0 in: one hole is enough." in page


def test_the_verdict_is_the_first_yes_and_nothing_is_asked_after_it(foreman, bore):
    TestHole.objects.all().delete()
    page = page_text(foreman, bore)
    steps = page.split("The verdict, step by step")[1].split("What it rests on")[0]
    assert "No: the separation is unknown." in steps
    assert "Yes: no test hole exposes it as the rules ask." in steps
    assert steps.count("Not asked any more.") == 3


def test_an_unexposed_crossing_says_where_to_dig_with_a_link_to_the_phones_maps(foreman, bore):
    TestHole.objects.all().delete()
    page = page_text(foreman, bore)
    assert "Where to dig Station 1+64.0 ft Offset on the alignment Down to 6 ft 10 3/4 in" in page
    raw = foreman.get(address(bore)).content.decode()
    # RFC 5870: latitude before longitude.
    latitude, longitude = re.search(r'href="geo:(-?[\d.]+),(-?[\d.]+)"', raw).groups()
    expected = point(50, 0)
    assert float(latitude) == pytest.approx(expected.y, abs=1e-7)
    assert float(longitude) == pytest.approx(expected.x, abs=1e-7)
    assert f"{latitude}, {longitude}" in page


def test_links_to_log_and_edit_are_there_for_who_may_and_for_nobody_else(client, bore):
    mark, hole = bore.job.marks.get(), bore.job.test_holes.get()
    links = [
        f"{reverse('locates:test-hole-add', args=[bore.job_id])}?mark={mark.ref}",
        reverse("locates:mark-edit", args=[mark.id]),
        reverse("locates:test-hole-edit", args=[hole.id]),
    ]
    client.force_login(person_in_role("Coordinator"))
    page = client.get(address(bore)).content.decode()
    assert all(f'href="{link}"' in page for link in links)
    client.force_login(person_in_role("Safety manager"))
    page = client.get(address(bore)).content.decode()
    assert not any(f'href="{link}"' in page for link in links)


def test_an_exposed_crossing_asks_for_no_hole(foreman, bore):
    assert "Where to dig" not in page_text(foreman, bore)


def test_records_say_who_when_and_how_and_never_claim_a_quality_they_did_not_earn(foreman, bore):
    page = page_text(foreman, bore)
    assert "Quality level D (ASCE 38-22): one-call paint" in page
    assert "by R. Pell, tape from the ground" in page
    assert "Fri Nov 6, 2026, 9:00 am EST" in page
    assert "Exposed. Not quality level A" in page
    assert "QL-A" not in page
    assert not re.search(r"[Qq]uality level [ABC]\b(?<!Not quality level A)", page)


def test_what_nobody_recorded_is_unknown(foreman, bore):
    Mark.objects.update(ticket=None, located_by="", stated_width_m=None)
    TestHole.objects.update(measured_by="", measured_how="")
    page = page_text(foreman, bore)
    assert "Located by unknown Ticket unknown" in page
    assert "by unknown , how is unknown" in page
    assert "assumed for its type: neither measured nor stated" in page


def test_a_size_says_whether_it_is_measured_or_stated(foreman, bore):
    assert "3 7/8 in as the mark states" in page_text(foreman, bore)
    TestHole.objects.update(outside_width_m=0.2)
    assert "7 7/8 in the largest measured in its test holes" in page_text(foreman, bore)


def test_figures_of_a_metric_job_are_in_metres(foreman, bore):
    bore.job.show_units = "metric"
    bore.job.save()
    page = page_text(foreman, bore)
    assert "0.6096 m + 0.1000 m + 0.0500 m = 0.7596 m" in page
    assert " ft" not in page.split("Every figure")[1].split("General notes")[0]


def test_the_page_leads_to_the_neighbours_and_back_to_the_list(foreman, bore):
    MarkFactory(job=bore.job, geometry=line((70, -15), (70, 15)))
    store_assessment(bore.id)
    first, second = (foreman.get(address(bore, place)).content.decode() for place in (0, 1))
    assert f'href="{address(bore, 1)}"' in first
    assert f'href="{address(bore, 0)}"' in second
    assert f'href="{reverse("conflicts:bore", args=[bore.id])}#crossing-2"' in second


def test_the_page_costs_as_many_queries_with_many_records_as_with_one(
    foreman, bore, django_assert_max_num_queries
):
    def queries() -> int:
        store_assessment(bore.id)
        foreman.get(address(bore))
        with django_assert_max_num_queries(43) as captured:
            assert foreman.get(address(bore)).status_code == 200
        return len(captured)

    one = queries()
    for east_m in (20, 30, 60):
        MarkFactory(job=bore.job, geometry=line((east_m, -15), (east_m, 15)))
    for north_m in (0.1, 0.2, 0.3):
        TestHoleFactory(job=bore.job, mark=bore.job.marks.first(), position=point(50, north_m))
    assert queries() == one
