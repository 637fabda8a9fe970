"""The page of the audit and its files: who may see them, and what each part tells, in few queries."""

import csv
import io
from datetime import timedelta

import pytest
from django.utils import timezone
from openpyxl import load_workbook

from conflicts.audit.parts import SECTIONS
from locates.models import Mark, TestHole
from tests.conflicts.audit.signed_stories import (
    AT,
    bore_with_mark,
    close_out,
    crossing,
    damage,
    end_variance,
    release,
    sign_variance,
    variance,
    watch,
    withdraw,
)
from tests.factories import MarkFactory, OrganisationFactory, TestHoleFactory, person_in_role

pytestmark = pytest.mark.django_db

PAGE, PART, BOOK = "/audit/", "/audit/part.csv", "/audit/audit.xlsx"


@pytest.fixture
def story():
    """A bore of a job that was released, watched, closed out and edited, with a variance and a near miss."""
    bore, mark = bore_with_mark(name="North run", job_name="Alder Street")
    hole = TestHoleFactory(job=bore.job, mark=mark, ref="P-1")
    signed = release(
        bore, [crossing("G-1"), crossing("W-1", worst_m=0.1, verdict="short")], checks=["crossings"]
    )
    withdraw(signed)
    watch(bore, mark, gap_m=0.25)
    close_out(bore)
    asked = variance(bore, mark)
    sign_variance(asked)
    end_variance(asked)
    damage(bore, mark)
    hole.is_open = False
    hole.save()
    return bore


@pytest.fixture
def manager(client):
    client.force_login(person_in_role("Safety manager"))
    return client


def text_of(response):
    return " ".join(response.content.decode().split())


def page(client, **query):
    response = client.get(PAGE, query)
    assert response.status_code == 200
    return text_of(response)


def rows_of(client, **query):
    response = client.get(PART, query)
    assert response.status_code == 200, text_of(response)
    return list(csv.DictReader(io.StringIO(response.content.decode())))


@pytest.mark.parametrize("address", [PAGE, PART, BOOK])
def test_only_a_safety_manager_audits_and_only_by_reading(client, address):
    assert client.get(address).status_code == 302
    for role in ("Coordinator", "Foreman"):
        client.force_login(person_in_role(role))
        assert client.get(address).status_code == 403
    client.force_login(person_in_role("Safety manager"))
    assert client.post(address).status_code == 405
    assert "no-store" in client.get(PAGE).headers["Cache-Control"]


def test_an_empty_record_says_so_in_every_part(manager):
    for section in SECTIONS:
        assert section.empty_words in page(manager, section=section.code)


def test_the_figures_count_what_is_chosen(manager, story):
    words = page(manager)
    for name, figure in (
        ("Releases signed", "1"),
        ("Crossings with a pass not seen", "2"),
        ("Crossings under variance", "1"),
        ("Edited after release", "1"),
    ):
        assert f"<dt>{name}</dt><dd" in words
        assert words.split(f"<dt>{name}</dt><dd")[1].split("</dd>")[0].split(">")[1].startswith(figure)
    # -0.2 m of the short crossing, rounded down to a quarter of an inch.
    assert "Least margin, worst case at signing" in words
    assert "1 below what is required" in words


def test_each_part_tells_its_story(manager, story):
    assert "1 clear, 1 short" in page(manager, section="releases")
    assert "crossings" in page(manager, section="releases")
    unwatched = page(manager, section="unwatched")
    assert "pilot, reaming, pullback" in unwatched
    assert "reaming, pullback" in unwatched
    assert "gap on the pilot pass" in page(manager, section="margins")
    [excused] = rows_of(manager, section="excused")
    assert (excused["mark"], excused["excused"], excused["signed_by"]) == ("G-1", "clearance", "Cora Tims")
    assert (excused["ended_at"], excused["in_force_now"]) == ("2026-11-10T13:00:00-05:00", "no")
    assert ">clearance</a>" in page(manager, section="excused")
    variances = page(manager, section="variances")
    assert "The main cannot be moved." in variances
    assert "Cora Tims" in variances
    assert "is_open: yes -&gt; no" in page(manager, section="edits")
    assert "The reel nicked the pipe." in page(manager, section="damage")


def test_a_release_names_the_variances_that_it_rests_on_and_its_withdrawal(manager):
    bore, mark = bore_with_mark()
    used = variance(bore, mark)
    sign_variance(used, at=AT)
    ended = variance(bore, mark, subject="watch")
    sign_variance(ended, at=AT)
    end_variance(ended, at=AT + timedelta(hours=1))
    sign_variance(variance(bore, mark), at=AT)
    settled = {"damage_answered": [str(damage(bore, mark).pk)], "damage_settled": "The operator mended it."}
    rests_on = {"marks": [mark], "excused_by": [used], **settled}
    withdraw(release(bore, [crossing("G-1")], at=AT + timedelta(hours=2), **rests_on))
    (row,) = rows_of(manager, section="releases")
    assert row["excused_by_variance"] == "the clearance of a crossing: G-1, crossing (Cora Tims)"
    assert row["withdrawal"] == "Tue Nov 10, 2026, 12:00 pm EST by Cora Tims: Rain."
    assert row["damage_settled"] == "The operator mended it."


def test_of_a_release_that_did_not_keep_its_variances_those_in_force_are_named_as_unsure(manager):
    bore, mark = bore_with_mark()
    sign_variance(variance(bore, mark), at=AT)
    ended = variance(bore, mark, subject="watch")
    sign_variance(ended, at=AT)
    end_variance(ended, at=AT + timedelta(hours=1))
    variance(bore, mark)
    release(bore, [crossing("G-1")], at=AT + timedelta(hours=2))
    (row,) = rows_of(manager, section="releases")
    assert row["excused_by_variance"] == (
        "in force then, not known whether it counted: the clearance of a crossing: G-1, crossing (Cora Tims)"
    )


def test_whether_a_release_stands_is_computed_when_asked(manager):
    bore, _ = bore_with_mark()
    for at in (AT, timezone.now() - timedelta(minutes=1), timezone.now() - timedelta(minutes=2)):
        signed = release(bore, [crossing("G-1")], at=at)
    withdraw(signed, at=timezone.now())
    standing = {one["signed_at"]: one["stands_now"] for one in rows_of(manager, section="releases")}
    newest, withdrawn, first = (standing[key] for key in sorted(standing, reverse=True))
    # Its digest is not that of the records: nothing of it reads as in force.
    assert newest.startswith("Lapsed. ")
    assert (withdrawn, first) == ("withdrawn", "over")


def test_an_edit_before_the_release_is_none_and_a_mark_added_after_it_is(manager):
    bore, mark = bore_with_mark()
    mark.located_by = "paint"
    mark.save()
    release(bore, [crossing("G-1")])
    assert is_refused_as_empty(manager.get(PART, {"section": "edits"}))
    mark.located_by = "paint, again"
    mark.save()
    MarkFactory(job=bore.job, ref="W-1")
    edits = rows_of(manager, section="edits")
    assert [(one["action"], one["mark"]) for one in edits] == [("added", "W-1"), ("changed", "G-1")]
    assert edits[1]["changes"] == "located_by: paint -> paint, again"


def is_refused_as_empty(response):
    return response.status_code == 400 and "nothing fits" in text_of(response)


def test_a_retired_mark_or_hole_is_an_edit_with_its_reference(manager, story):
    Mark.objects.update(retired_at=AT)
    TestHole.objects.update(retired_at=AT)
    records = {(one["record"], one["mark"]) for one in rows_of(manager, section="edits")}
    assert records == {("mark G-1", "G-1"), ("test hole P-1", "G-1")}


def test_what_cannot_be_read_is_told_and_no_file_is_made(manager, story):
    response = manager.get(PAGE, {"day_from": "yesterday", "verdict": "fine"})
    assert "Accepted is a day such as 2026-11-05." in text_of(response)
    assert "Accepted is a verdict of the list." in text_of(response)
    for address in (PART, BOOK):
        assert manager.get(address, {"day_from": "2026-11-10", "day_to": "2026-11-09"}).status_code == 400


def test_a_file_of_a_part_that_there_is_not_is_refused_with_the_parts_that_there_are(manager, story):
    response = manager.get(PART, {"section": "foo"})
    assert response.status_code == 400
    words = text_of(response)
    assert "there is no part" in words
    assert all(one.code in words for one in SECTIONS)


BAD_PLACES = ("x", "[1]", '["a","b"]', '["2026-11-10T00:00:00","x"]', "[" * 2000, '["\\u0000"]')


@pytest.mark.parametrize("section", [one.code for one in SECTIONS])
def test_a_place_that_no_link_gives_is_told_and_the_first_page_shown(manager, story, section):
    for after in BAD_PLACES:
        assert "This is the first page." in page(manager, section=section, after=after), after


def test_pages_of_every_part_follow_each_other(manager, story, monkeypatch):
    monkeypatch.setattr("conflicts.desk.audit_sheet.ROWS_A_PAGE", 1)
    for section in SECTIONS:
        seen, place = 0, None
        while place != "":
            shown = manager.get(PAGE, {"section": section.code, "after": place or ""}).context["page"]
            seen += len(shown.rows)
            place = shown.next_place
        assert seen == len(rows_of(manager, section=section.code)), section.code


def test_a_file_has_units_in_its_columns_offsets_in_its_moments_and_disarmed_formulas(manager, story):
    margins = rows_of(manager, section="margins")
    assert [float(one["margin_m"]) for one in margins] == pytest.approx([-0.2, -0.05, 0.2])
    (signed,) = rows_of(manager, section="releases")
    assert signed["signed_at"] == "2026-11-10T08:00:00-05:00"
    variance(story, story.job.marks.get(), reason="=1+1", at=AT + timedelta(days=1))
    assert rows_of(manager, section="variances")[0]["reason"] == "'=1+1"


def test_the_workbook_has_every_part_and_what_was_chosen(manager, story):
    response = manager.get(BOOK, {"job": "Alder"})
    assert response.headers["Content-Disposition"].startswith('attachment; filename="audit_')
    book = load_workbook(io.BytesIO(response.content))
    assert book.sheetnames == ["about", *(one.code for one in SECTIONS)]
    about = {row[0].value: row[1].value for row in book["about"].rows}
    assert (about["job"], about["verdict"]) == ("Alder", "all")
    for section in SECTIONS:
        rows = [[cell.value for cell in row] for row in book[section.code].rows]
        assert rows[0] == [column.name for column in section.columns]
        assert len(rows) - 1 == len(rows_of(manager, section=section.code))


def test_words_of_people_are_escaped_on_the_page_and_in_the_plot(manager):
    bore, mark = bore_with_mark("<b>G</b>", name="<script>x</script>")
    release(bore, [crossing("<b>G</b>")])
    variance(bore, mark, reason="<img src=x>")
    words = page(manager, section="variances") + page(manager, section="margins")
    for raw in ("<b>G", "<script>x", "<img src=x"):
        assert raw not in words


def test_nothing_of_another_company_is_shown(manager):
    elsewhere, mark = bore_with_mark(name="Far run", organisation=OrganisationFactory())
    release(elsewhere, [crossing("G-1")])
    close_out(elsewhere)
    damage(elsewhere, mark)
    variance(elsewhere, mark)
    for section in SECTIONS:
        words = page(manager, section=section.code)
        assert "Far run" not in words
        assert section.empty_words in words


@pytest.mark.parametrize("section", [one.code for one in SECTIONS])
def test_the_number_of_queries_does_not_grow_with_the_jobs(manager, django_assert_max_num_queries, section):
    def told():
        bore, mark = bore_with_mark(organisation=company)
        withdraw(release(bore, [crossing("G-1"), crossing("W-1")]))
        watch(bore, mark)
        close_out(bore)
        sign_variance(variance(bore, mark))
        damage(bore, mark)
        mark.save()

    first, _ = bore_with_mark()
    company = first.job.organisation
    told()
    with django_assert_max_num_queries(100) as few:
        page(manager, section=section)
    for _ in range(5):
        told()
    with django_assert_max_num_queries(len(few)):
        words = page(manager, section=section)
    assert words.count("<tr>") > 5
