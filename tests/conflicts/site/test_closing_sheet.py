"""What a close-out lacks, by crossing: every pass that is not settled stands at its crossing."""

import re

import pytest
from django.urls import reverse

from conflicts.assess import store_assessment
from conflicts.closing_faults import close_out_faults
from conflicts.closing_sheet import NOT_SEEN, NOT_WATCHED, closing_sheet
from conflicts.variance_reasons import not_excused_watch
from conflicts.watch_matching import PILOT
from locates.models import Mark
from tests import factories
from tests.conflicts.site.test_closing_faults import PASSES, excuse, person
from tests.conflicts.site.test_lost_stops import assessed_of, move_away, release, see, table_of
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

__all__ = ["person"]
pytestmark = pytest.mark.django_db


@pytest.fixture
def bore(person):
    """A released bore that meets three lines, at 20, 50 and 80 m."""
    stored = bore_of_today()
    release(stored, person)
    for east in (20, 80):
        factories.MarkFactory(
            job=stored.job,
            operator=stored.job.operators.get(),
            ref=f"L{east}",
            geometry=factories.line((east, -15), (east, 15)),
        )
    store_assessment(stored.pk)
    return stored


def middle():
    return Mark.objects.exclude(ref__startswith="L").get()


def sheet_of(bore):
    return closing_sheet(table_of(bore), assessed_of(bore))


def told(sheet):
    return [
        (one.row.lies.mark_ref, [(group.passes, group.sentences) for group in one.missing])
        for one in sheet.open
    ]


def test_passes_of_a_crossing_that_lack_the_same_are_told_together_in_their_order(bore, person):
    see(bore, person, "pilot", mark=middle())
    see(bore, person, "reaming", mark=middle(), gap_m=None)
    sheet = sheet_of(bore)
    assert told(sheet) == [
        ("L20", [(PASSES, (NOT_WATCHED,))]),
        (middle().ref, [(("reaming",), (NOT_SEEN,)), (("pullback",), (NOT_WATCHED,))]),
        ("L80", [(PASSES, (NOT_WATCHED,))]),
    ]
    assert (sheet.of_bore, sheet.settled, sheet.total) == ((), (), 3)


def test_a_crossing_of_which_every_pass_is_settled_is_among_the_settled(bore, person):
    for pass_made in PASSES:
        see(bore, person, pass_made, mark=middle())
    sheet = sheet_of(bore)
    assert [one.row.lies.mark_ref for one in sheet.open] == ["L20", "L80"]
    assert [one.row.lies.mark_ref for one in sheet.settled] == [middle().ref]


def test_every_pass_that_is_not_settled_stands_once_and_every_other_sentence_is_of_the_bore(bore, person):
    """Held to the table itself, and to the sentences of a refused signature."""
    middle_of = middle()
    see(bore, person, "pilot", mark=middle_of, gap_m=0.1)
    see(bore, person, "pullback", mark=middle_of)
    see(bore, person, "reaming", mark=middle_of)
    assessed, table = assessed_of(bore), table_of(bore)
    sheet = closing_sheet(table, assessed)
    listed = [(one.row.place, name) for one in sheet.open for group in one.missing for name in group.passes]
    asked = [(row.place, one.pass_made) for row in table.rows for one in row.passes if not one.is_settled]
    assert sorted(listed) == sorted(asked)
    assert all(group.sentences for one in sheet.open for group in one.missing)
    sentences = close_out_faults(table, assessed)
    assert set(sheet.of_bore) <= set(sentences)
    # The stop of the gap that was too small; the rest of the sentences are of passes.
    assert len(sheet.of_bore) == 1
    left = [one for one in sentences if one not in sheet.of_bore]
    assert left
    assert all(re.match("(No watch of the|The) (pilot|reaming|pullback)", one) for one in left)


def test_where_nothing_is_missing_nothing_is_told(bore, person):
    Mark.objects.filter(ref__startswith="L").delete()
    store_assessment(bore.pk)
    for pass_made in PASSES:
        see(bore, person, pass_made)
    sheet = sheet_of(bore)
    assert close_out_faults(table_of(bore), assessed_of(bore)) == []
    assert (sheet.of_bore, sheet.open) == ((), ())


def test_a_variance_that_does_not_excuse_a_pass_is_told_beside_it(bore, person):
    place = {"mark": middle(), "kind": "crossing", "station_m": 50.0}
    excuse(bore, subject="watch", pass_made=PILOT, **place)
    Mark.objects.filter(pk=place["mark"].pk).update(stated_width_m=0.4)
    store_assessment(bore.pk)
    assessed, [row] = (
        assessed_of(bore),
        [one for one in table_of(bore).rows if one.lies.mark_ref == middle().ref],
    )
    job = assessed.scene.inputs.job
    why = not_excused_watch(
        assessed.site, row.lies, "pilot", row.lies.rests_on, assessed.at, job.show_units, job.time_zone
    )
    assert why
    [groups] = [groups for ref, groups in told(sheet_of(bore)) if ref == middle().ref]
    assert groups[0] == (("pilot",), (NOT_WATCHED, why))


def test_the_page_has_a_heading_a_crossing_and_leads_to_each_pass(client, bore, person):
    for pass_made in PASSES:
        see(bore, person, pass_made, mark=middle())
    client.force_login(person_in_role("Foreman"))
    answer = client.get(reverse("conflicts:close-out", args=[bore.pk]))
    text = re.sub(r"\s+", " ", answer.content.decode())
    headings = re.findall(r'<h3 id="missing-\d+">(\S+) <small>', text)
    assert headings == ["L20", "L80"]
    for row in table_of(bore).rows:
        address = reverse("conflicts:watch", args=[bore.pk, row.place, "pilot"])
        is_open = row.lies.mark_ref != middle().ref
        label = f'href="{address}" aria-label="Pilot: watch it pass {row.lies.mark_ref}"'
        assert (label in text) is is_open
    [folded] = re.findall(r"<details class=\"closing-settled\">.*?</details>", text)
    assert f"<li>{middle().ref} at " in folded
    assert "open" not in folded.split(">")[0]
    assert "2 of 3 crossings" in text


def test_a_crossing_that_is_gone_is_told_as_gone_and_leads_to_its_watch(client, bore, person):
    move_away(bore)
    sheet = sheet_of(bore)
    [one] = sheet.open
    assert one.row.lies.mark_ref == middle().ref
    assert one.gone == "which a release named and which is not there any more"
    client.force_login(person_in_role("Foreman"))
    text = client.get(reverse("conflicts:close-out", args=[bore.pk])).content.decode()
    assert one.gone in text
