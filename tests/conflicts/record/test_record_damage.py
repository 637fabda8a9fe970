"""Damage and near misses in the clearance record of a bore."""

from datetime import timedelta

import pytest
from django.core.files.base import ContentFile
from django.utils import timezone

from conflicts.desk.report_damage import report_damage
from conflicts.models import DamageReport
from conflicts.record.render import render_record
from locates.desk.keep_photo import keep_photo
from locates.models import LedgerEntry, Mark
from tests import factories
from tests.clearance_records import read_clearance_record
from tests.pdf_reading import page_texts, photo_files, squeezed
from tests.photo_files import jpeg

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return factories.small_job().bores.get()


def report(job, photos=(), **values):
    """A report that somebody told of a job, with so many photos."""
    told = DamageReport(
        **{
            "job": job,
            "kind": "damage",
            "happened_at": timezone.now() - timedelta(hours=1),
            "facility_type": "gas_oil_steam",
            "what_happened": "The reamer tore the tracer wire.",
            **values,
        }
    )
    by = factories.person_in_role("Foreman", first_name="Bram", last_name="Orley")

    def keep_photos(report):
        return [keep_photo(report, ContentFile(raw, name="wire.jpg"), by=by) for raw in photos]

    return report_damage(told, by=by, photo_sha256s=[], keep_photos=keep_photos)


def pages(bore):
    return page_texts(render_record(read_clearance_record(bore.pk)).content)


def test_a_bore_of_which_none_was_told_says_so(bore):
    cover, *rest = pages(bore)
    assert squeezed("Damage, near misses none reported of this bore") in cover
    assert squeezed("Damage and near misses") not in "".join(rest)


def test_a_report_is_told_in_full_with_its_photo_its_entry_and_a_word_on_the_cover(bore):
    mark = Mark.objects.get()
    told = report(
        bore.job,
        [jpeg(400, 300)],
        bore=bore,
        mark=mark,
        operator="Brindle",
        who_was_called="The operator, 9:10.",
    )
    content = render_record(read_clearance_record(bore.pk)).content
    cover, *rest = page_texts(content)
    assert squeezed("1 reported") in cover
    whole = "".join(rest)
    assert squeezed(f"gas/oil/steam, mark {mark.ref}; operator Brindle") in whole
    for words in (told.what_happened, told.who_was_called, "Told by Bram Orley"):
        assert squeezed(words) in whole
    assert LedgerEntry.objects.get(kind="damage").entry_sha256 in whole
    assert len(photo_files(content)) == 1


def test_one_that_names_no_bore_is_told_as_one_that_may_be_of_another(bore):
    report(bore.job, kind="near_miss")
    whole = "".join(pages(bore))
    assert squeezed("Near miss,") in whole
    assert squeezed("none named: it may be of another bore of the job") in whole


def test_one_of_another_bore_or_another_job_is_none_of_its_business(bore):
    report(bore.job, bore=factories.BoreFactory(job=bore.job))
    report(factories.JobFactory())
    assert read_clearance_record(bore.pk).damage == ()
