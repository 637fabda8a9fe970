"""A line is found in the audit by each reference that it has or once had, however its records name it."""

import pytest

from conflicts.models.audit_filters import AuditFilters
from conflicts.models.audit_records import damage as damage_of
from conflicts.models.audit_records import edits, variances
from locates.models import Mark
from tests import factories
from tests.conflicts.audit.signed_stories import bore_with_mark, crossing, damage, release, variance

pytestmark = pytest.mark.django_db


def edited(job, ref):
    """What was edited of a line, the last first, and the names of its line before and after."""
    found = edits(AuditFilters(job.organisation_id, mark_ref=ref))
    assert found.count() == len(found)
    return [(one.action, one.ref, one.mark_ref_before, one.mark_ref) for one in found]


def rename(mark, ref):
    mark.ref = ref
    mark.save()


def test_a_hole_that_was_given_to_another_line_is_an_edit_of_both():
    bore, mark = bore_with_mark("G-1")
    hole = factories.TestHoleFactory(job=bore.job, mark=mark, ref="P-1")
    other = factories.MarkFactory(job=bore.job, ref="W-1")
    factories.MarkFactory(job=bore.job, ref="E-1")
    release(bore, [crossing("G-1")])
    hole.mark = other
    hole.save()
    given = ("update", "P-1", "G-1", "W-1")
    assert edited(bore.job, "g-1") == [given]
    assert edited(bore.job, "W-1") == [given]
    assert edited(bore.job, "E-1") == []


def test_a_renamed_line_is_found_by_each_of_its_names_with_its_edits_before_and_after_it():
    bore, mark = bore_with_mark("G-1")
    factories.MarkFactory(job=bore.job, ref="W-1")
    release(bore, [crossing("G-1")])
    mark.located_by = "paint"
    mark.save()
    rename(mark, "G-7")
    hole = factories.TestHoleFactory(job=bore.job, mark=mark, ref="P-1")
    rename(mark, "G-9")
    for ref in ("G-1", "G-7", "g-9"):
        assert edited(bore.job, ref) == [
            ("update", "G-9", "G-7", "G-9"),
            ("insert", "P-1", "", "G-9"),
            ("update", "G-7", "G-1", "G-7"),
            ("update", "G-1", "G-1", "G-1"),
        ]
    assert hole.mark_id == mark.pk
    assert edited(bore.job, "W-1") == []


def test_a_line_that_took_a_name_over_is_found_by_it_beside_the_one_that_had_it():
    bore, mark = bore_with_mark("G-1")
    release(bore, [crossing("G-1")])
    Mark.objects.filter(pk=mark.pk).update(retired_at=bore.job.created_at)
    factories.MarkFactory(job=bore.job, operator=mark.operator, ref="G-1")
    assert [one[0] for one in edited(bore.job, "G-1")] == ["insert", "update"]


def test_a_line_of_another_company_lends_its_name_to_none_of_ours():
    bore, mark = bore_with_mark("G-1")
    other, line = bore_with_mark("W-1", organisation=factories.OrganisationFactory())
    for one in (bore, other):
        release(one, [crossing("G-1")])
    rename(line, "G-9")
    rename(mark, "G-2")
    assert [one[1] for one in edited(bore.job, "G-1")] == ["G-2"]
    assert edited(bore.job, "G-9") == []
    assert edited(other.job, "G-1") == []


@pytest.mark.parametrize("ref", ["G-1", "G-9"])
def test_the_variances_and_damage_of_a_renamed_line_are_found_by_both_names(ref):
    bore, mark = bore_with_mark("G-1")
    line = factories.MarkFactory(job=bore.job, ref="W-1")
    told = {(variance(bore, mark).pk, damage(bore, mark).pk)}
    variance(bore, line)
    damage(bore, line)
    rename(mark, "G-9")
    filters = AuditFilters(bore.job.organisation_id, mark_ref=ref)
    assert {(variances(filters).get().pk, damage_of(filters).get().pk)} == told


def test_the_page_and_the_file_name_the_line_that_lost_a_hole_and_the_one_that_got_it(client):
    bore, mark = bore_with_mark("G-1")
    hole = factories.TestHoleFactory(job=bore.job, mark=mark, ref="P-1")
    release(bore, [crossing("G-1")])
    hole.mark = factories.MarkFactory(job=bore.job, ref="W-1")
    hole.save()
    client.force_login(factories.person_in_role("Safety manager"))
    query = {"section": "edits", "mark_ref": "G-1"}
    [row] = client.get("/audit/", query).context["page"].rows
    assert "G-1 -> W-1" in [cell.words for cell in row]
    assert "G-1 -> W-1" in client.get("/audit/part.csv", query).content.decode()
