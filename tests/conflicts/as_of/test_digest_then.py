"""What is read of a past moment is what was there at that moment, to the last digit, and nothing else."""

import threading
from datetime import timedelta
from itertools import count

import pytest
from django.contrib.gis.geos import LineString
from django.db import DatabaseError, connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from conflicts.assess import assess, compute_bores
from conflicts.drawing.map_layers import map_document
from conflicts.gather import gather
from conflicts.map_records import read_past_map
from conflicts.models import Bore
from locates.as_of import as_of
from locates.desk.restore import restore
from locates.desk.retire import retire
from locates.desk.save_record import save_record
from locates.errors import StillNamedError
from locates.models import JurisdictionRule, LedgerEntry, Mark, Retirement, TestHole, TicketStanding
from locates.past_moments import database_clock
from tests import factories

NUMBERS = count(1)

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


@pytest.fixture
def job():
    return factories.small_job()


@pytest.fixture
def person():
    return factories.PersonFactory()


def figures(job, at):
    """All that the assessment says of the job's bores, or why nothing, and their digests."""
    bores = Bore.objects.filter(job=job).select_related("job__jurisdiction").order_by("name")
    return [assess(bore, at) for bore in bores]


def then(job, at):
    with as_of(job.pk, at):
        return figures(job, at)


def moved(mark, north_m):
    mark.geometry = LineString([(x, y + north_m / 111_000) for x, y in mark.geometry.coords], srid=4326)


def move_mark(job, person, amount):
    mark = Mark.objects.filter(job=job).first()
    if mark:
        moved(mark, amount)
        save_record(mark, by=person, opened_version=mark.version)


def dig_hole(job, person, amount):
    mark = Mark.objects.filter(job=job).first()
    hole = factories.TestHoleFactory.build(
        job=job, mark=mark, ref=f"H{next(NUMBERS)}", depth_to_top_m=1.0 + abs(amount)
    )
    save_record(hole, by=person, opened_version=None)


def change_ticket(job, person, amount):
    ticket = job.tickets.first()
    ticket.boring_declared = amount > 0
    ticket.expires_at += timedelta(hours=abs(amount) + 1)
    save_record(ticket, by=person, opened_version=ticket.version)


def change_bore(job, person, amount):
    Bore.objects.filter(job=job).update(
        entry_pitch_ratio_min=-0.0 if amount > 0 else None,
        entry_pitch_ratio_max=0.05,
        product=str(amount),
    )


def change_rule(job, person, amount):
    JurisdictionRule.objects.filter(pk=job.jurisdiction_id).update(tolerance_zone_m=0.5 + abs(amount))


def retire_mark(job, person, amount):
    mark = Mark.objects.filter(job=job).first()
    if mark:
        retire(mark, by=person)


def bring_back(job, person, amount):
    token = Retirement.objects.not_undone().filter(job=job).first()
    if token:
        restore(token, by=person)


def delete_holes(job, person, amount):
    TestHole.objects.filter(job=job).delete()


EDITS = (move_mark, dig_hole, change_ticket, change_bore, change_rule, retire_mark, bring_back, delete_holes)


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=st.lists(st.tuples(st.sampled_from(EDITS), st.floats(-2, 2)), min_size=1, max_size=5))
def test_through_random_edits_every_moment_is_read_as_it_was(person, edits):
    job = factories.small_job()
    seen = [(database_clock(), figures(job, factories.PLANNED_START_AT))]
    for edit, amount in edits:
        edit(job, person, amount)
        seen.append((database_clock(), figures(job, factories.PLANNED_START_AT)))
    for at, live in seen:
        with as_of(job.pk, at):
            assert figures(job, factories.PLANNED_START_AT) == live


def test_a_mark_moved_a_hole_dug_a_ticket_and_a_rule_changed_each_shows_from_its_moment_on(job, person):
    bore_id = job.bores.get().pk
    for edit in (move_mark, dig_hole, change_ticket, change_rule):
        before, digest_before = database_clock(), gather([bore_id])[bore_id].digest()
        edit(job, person, 0.25)
        after, digest_after = database_clock(), gather([bore_id])[bore_id].digest()
        assert digest_before != digest_after
        with as_of(job.pk, before):
            assert gather([bore_id])[bore_id].digest() == digest_before
        with as_of(job.pk, after):
            assert gather([bore_id])[bore_id].digest() == digest_after


def test_a_job_that_is_retired_by_now_is_read_as_it_was(job, person):
    before, live = database_clock(), figures(job, factories.PLANNED_START_AT)
    retire(job, by=person)
    assert Bore.objects.count() == 0
    with as_of(job.pk, before):
        assert figures(job, factories.PLANNED_START_AT) == live
    with as_of(job.pk, database_clock()):
        assert Bore.objects.count() == 0
        assert Bore.with_retired.count() == 1


def test_what_was_not_there_yet_is_not_shown_nor_what_belongs_to_others(job):
    before = database_clock()
    later = factories.MarkFactory(job=job)
    other = factories.MarkFactory()
    with as_of(job.pk, before):
        assert not Mark.with_retired.filter(pk__in=[later.pk, other.pk]).exists()
        assert Mark.objects.count() == 1


def test_a_transaction_counts_whole_or_not_at_all(job):
    with transaction.atomic():
        Mark.objects.filter(job=job).update(located_by="first")
        between = database_clock()
        TestHole.objects.filter(job=job).update(measured_by="second")
    with as_of(job.pk, between):
        assert Mark.objects.get().located_by != "first"
    with as_of(job.pk, database_clock()):
        assert Mark.objects.get().located_by == "first"


def test_a_record_that_went_to_another_job_is_gone_from_the_first(job):
    mark = factories.GroundPointFactory(job=job)
    other = factories.JobFactory()
    before = database_clock()
    type(mark).objects.filter(pk=mark.pk).update(job=other)
    with as_of(job.pk, before):
        assert type(mark).objects.filter(pk=mark.pk).exists()
    for home, is_there in ((job, False), (other, True)):
        with as_of(home.pk, database_clock()):
            assert type(mark).objects.filter(pk=mark.pk).exists() is is_there


def test_a_file_is_there_with_its_content(job):
    paper = factories.ResponsePaperFactory(response=job.tickets.first().responses.first())
    with as_of(job.pk, database_clock()):
        found = type(paper).objects.get(pk=paper.pk)
        assert bytes(found.content) == bytes(paper.content)


def test_nothing_stored_of_what_is_computed_and_no_later_signature_shows(job):
    factories.TicketStandingFactory(ticket=job.tickets.first())
    before = database_clock()
    factories.LedgerEntryFactory(job=job, entered_at=before + timedelta(seconds=1))
    with as_of(job.pk, before):
        assert not TicketStanding.objects.exists()
        assert not LedgerEntry.objects.exists()
    with as_of(job.pk, before + timedelta(seconds=2)):
        assert LedgerEntry.objects.count() == 1


def test_nothing_can_be_written_in_the_past_and_all_of_it_goes(job):
    mark = Mark.objects.get()
    for attempt, words in (
        (lambda: Mark.objects.filter(pk=mark.pk).update(ref="M99"), "cannot update view"),
        (lambda: factories.PersonFactory(), "read-only"),
        (lambda: factories.TicketStandingFactory(ticket=job.tickets.get()), "read-only"),
    ):
        with pytest.raises(DatabaseError, match=words), as_of(job.pk, database_clock()):
            attempt()
    with as_of(job.pk, database_clock()):
        pass
    Mark.objects.filter(pk=mark.pk).update(ref="M99")
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM pg_class WHERE relnamespace = pg_my_temp_schema()")
        assert cursor.fetchone() == (0,)


def test_the_map_of_then_is_the_map_that_was_shown(job, person):
    """The crossings of the past are computed; those of the present are stored figures of the same records."""
    at = database_clock()
    live = map_document(read_past_map(job, None, at), at)
    move_mark(job, person, 1.0)
    with as_of(job.pk, at):
        assert map_document(read_past_map(job, None, at), at) == live
    assert live["crossings"]
    assert map_document(read_past_map(job, None, at), at) != live


def test_two_who_look_at_two_moments_at_once_do_not_see_each_others(job):
    Mark.objects.filter(job=job).update(ref="EARLY")
    early = database_clock()
    Mark.objects.filter(job=job).update(ref="LATE")
    late, seen, both = database_clock(), {}, threading.Barrier(2, timeout=20)

    def look(name, at):
        try:
            with as_of(job.pk, at):
                both.wait()
                seen[name] = Mark.objects.get().ref
                both.wait()
                seen[name] += Mark.objects.get().ref
        finally:
            connection.close()

    threads = [threading.Thread(target=look, args=one) for one in (("early", early), ("late", late))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert seen == {"early": "EARLYEARLY", "late": "LATELATE"}


def test_a_mark_that_cannot_go_leaves_no_trace_in_the_past(job, person):
    operator = job.operators.first()
    before = database_clock()
    with pytest.raises(StillNamedError):
        retire(operator, by=person)
    assert then(job, before) == then(job, database_clock())
    assert compute_bores([job.bores.get().pk])
