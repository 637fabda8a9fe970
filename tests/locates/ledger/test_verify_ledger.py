"""The proof of the chain against all that somebody with the database's password can do in plain SQL."""

import json
import re
import tracemalloc
from hashlib import sha256
from io import StringIO
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command

from conflicts.models import DailyWalk
from locates.canonical import canonical_text
from locates.chain import Fault, entry_digest
from locates.desk.ledger import enter
from locates.desk.prove_ledger import prove_ledger
from locates.exchange.moments import read_moment
from locates.models import LedgerEntry
from locates.models.event_witness import CHANGED_SINCE, GONE, UNKNOWN
from locates.past_moments import database_clock
from locates.signed_kinds import signed_kinds
from tests.factories import DailyWalkFactory, JobFactory, PersonFactory, PhotoFactory
from tests.signed_walks import sign_walks
from tests.signing import signing

pytestmark = pytest.mark.django_db

FREE_THE_CONTENT = ("ALTER TABLE locates_ledgerentry DROP CONSTRAINT ledger_entry_content_sha256_of_content",)
FREE_THE_NUMBERS = ("ALTER TABLE locates_ledgerentry DROP CONSTRAINT ledger_entry_sequence_from_one",)


def first_fault():
    """Number of the first bad entry and why, as the command prints it."""
    out = StringIO()
    with pytest.raises(SystemExit) as left:
        call_command("verify_ledger", format="json", stdout=out)
    assert left.value.code == 1
    document = json.loads(out.getvalue())
    assert document["is_proven"] is False
    return document["first_fault"]["sequence"], document["first_fault"]["why"]


def write_content(in_sql, sequence, content):
    """Write another content over an entry, with its digest."""
    digest = sha256(content.encode()).hexdigest()
    in_sql(
        (
            "UPDATE locates_ledgerentry SET content=%s, content_sha256=%s WHERE sequence=%s",
            content,
            digest,
            sequence,
        )
    )


def rehash(in_sql, sequence):
    """Give an entry the digest that fits what it says now, as a clever hand would."""
    digest = entry_digest(LedgerEntry.objects.get(sequence=sequence))
    in_sql(("UPDATE locates_ledgerentry SET entry_sha256=%s WHERE sequence=%s", digest, sequence))


def overwrite_walk(column, value, walk):
    return f"UPDATE conflicts_dailywalk SET {column}=%s WHERE id=%s", value, walk.pk  # noqa: S608 - a column


def overwrite_entry(column, value, sequence):
    return f"UPDATE locates_ledgerentry SET {column}=%s WHERE sequence=%s", value, sequence  # noqa: S608


def forged_entry(record_id, kind, content, before):
    """An entry without a fault of its own, put behind another one."""
    forged = LedgerEntry(
        sequence=before.sequence + 1,
        kind=kind,
        record_id=record_id,
        job_id=before.job_id,
        content=content,
        content_sha256=sha256(content.encode()).hexdigest(),
        previous_sha256=before.entry_sha256,
        entered_at=before.entered_at,
        entered_by_id=before.entered_by_id,
    )
    forged.entry_sha256 = entry_digest(forged)
    return forged


def move(old, new):
    return ("UPDATE locates_ledgerentry SET sequence=%s WHERE sequence=%s", new, old)


def test_an_untouched_chain_is_proven(chain):
    out = StringIO()
    call_command("verify_ledger", stdout=out)
    head = chain[-1][1].entry_sha256
    proven, of_head, read = out.getvalue().splitlines()
    assert (proven, of_head) == ("Proven: 6 entries.", f"Head: {head}")
    assert re.fullmatch(r"It is entry 6, read \d{4}-\d{2}-\d{2} \d{2}:\d{2}:\d{2} UTC\.", read)
    call_command("verify_ledger", head=head, stdout=StringIO())
    entry = chain[2][1]
    told = StringIO()
    call_command("verify_ledger", head=entry.entry_sha256, stdout=told)
    made = f"{entry.entered_at:%Y-%m-%d %H:%M:%S} UTC"
    assert told.getvalue().splitlines()[3:] == [f"Noted head: entry 3, made {made}; 3 came after it."]


def test_an_empty_chain_is_proven():
    out = StringIO()
    call_command("verify_ledger", format="json", stdout=out)
    document = json.loads(out.getvalue())
    assert read_moment(document.pop("read_at")) <= database_clock()
    assert document == {
        "schema_version": 1,
        "is_proven": True,
        "proven_entries": 0,
        "head_sequence": 0,
        "head_sha256": "0" * 64,
        "noted_sequence": None,
        "first_fault": None,
        "fallen_guards": [],
    }


def test_the_text_names_entry_record_and_reason(chain, in_sql):
    walk = chain[3][0]
    in_sql(("UPDATE conflicts_dailywalk SET marks_intact = false WHERE id=%s", walk.pk))
    out = StringIO()
    with pytest.raises(SystemExit):
        call_command("verify_ledger", stdout=out)
    assert out.getvalue() == (
        f"Not proven. The first bad entry is 4 (walk {walk.pk}). "
        "Its record says otherwise now than when it was signed: marks_intact.\n"
    )


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("walked_at", "2026-11-10 13:00:00.000001+00"),
        ("walked_by_name", "R. Pall"),
        ("marks_intact", False),
        ("device_checked", False),
        ("device", "receiver 8"),
        ("holes_open", False),
        ("remarks", "walk 3 "),
        ("photo_sha256s", ["0" * 64]),
        ("entered_at", "2026-11-10 13:00:00+00"),
    ],
)
def test_an_edit_of_a_signed_record_is_found(chain, in_sql, column, value):
    in_sql(overwrite_walk(column, value, chain[2][0]))
    assert first_fault() == (3, f"Its record says otherwise now than when it was signed: {column}.")


def test_every_column_of_a_signed_record_stands_in_its_entry(chain):
    columns = {column.attname for column in DailyWalk._meta.concrete_fields}
    assert columns == set(chain[0][0].ledger_content())


@pytest.mark.parametrize(
    ("column", "digest"),
    [("content", "sha256"), ("thumbnail", "thumbnail_sha256"), ("print_copy", "print_copy_sha256")],
)
@pytest.mark.parametrize("altered", ["bytes", "digest"])
def test_a_photo_whose_bytes_or_digest_were_altered_is_found(db, in_sql, column, digest, altered):
    person = PersonFactory()
    with signing(person):
        photo = PhotoFactory(content=b"photo 1", kept_by=person)
        enter(photo, by=person)
    assert prove_ledger().is_proven
    name, value = {"bytes": (column, b"photo 2"), "digest": (digest, "0" * 64)}[altered]
    in_sql(
        (f"ALTER TABLE locates_photo DROP CONSTRAINT photo_{digest}_of_{column}",),
        (f"UPDATE locates_photo SET {name} = %s", value),  # noqa: S608 - a column
    )
    assert first_fault() == (1, f"Its record says otherwise now than when it was signed: {digest}.")


def test_a_record_moved_to_another_job_is_found(chain, in_sql):
    in_sql(("UPDATE conflicts_bore SET job_id=%s WHERE id=%s", JobFactory().pk, chain[0][0].bore_id))
    assert first_fault() == (1, "Its record belongs to another job now.")


def test_an_edit_of_content_is_found(chain, in_sql):
    content = chain[2][1].content.replace('"walk 3"', '"walk 9"')
    in_sql(FREE_THE_CONTENT, ("UPDATE locates_ledgerentry SET content=%s WHERE sequence=3", content))
    sequence, why = first_fault()
    assert (sequence, why[:22]) == (3, "Its content has the di")


def test_an_edit_of_content_with_its_own_digests_made_anew_is_found_by_the_record(chain, in_sql):
    write_content(in_sql, 6, chain[5][1].content.replace('"walk 6"', '"walk 9"'))
    assert first_fault()[1].startswith("Its own digest is")
    rehash(in_sql, 6)
    assert first_fault() == (6, "Its record says otherwise now than when it was signed: remarks.")


def test_an_edit_of_content_digests_and_record_is_found_at_the_next_entry(chain, in_sql):
    walk, entry = chain[2]
    in_sql(("UPDATE conflicts_dailywalk SET remarks='walk 9' WHERE id=%s", walk.pk))
    write_content(in_sql, 3, entry.content.replace('"walk 3"', '"walk 9"'))
    rehash(in_sql, 3)
    sequence, why = first_fault()
    assert (sequence, why[:8]) == (4, "It names")


@pytest.mark.parametrize(
    "content", ['{"a": 1}', '{"b":1,"a":2}', "[]", "3", "{", '{"a":1.0}', '{"a":NaN}', ""]
)
def test_content_that_is_no_canonical_object_is_found(chain, in_sql, content):
    write_content(in_sql, 2, content)
    rehash(in_sql, 2)
    assert first_fault() == (2, "Its content is no object in canonical JSON (RFC 8785).")


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("kind", "watch"),
        ("record_id", uuid4()),
        ("entered_at", "2026-11-10 13:00:00+00"),
        ("entry_sha256", "a" * 64),
    ],
)
def test_an_edit_beside_the_content_is_found(chain, in_sql, column, value):
    in_sql(overwrite_entry(column, value, 4))
    sequence, why = first_fault()
    assert (sequence, why[:17]) == (4, "Its own digest is")


@pytest.mark.parametrize("moment", ["infinity", "-infinity", "0001-01-01 BC", "20000-01-01"])
def test_a_moment_that_no_program_writes_is_found(chain, in_sql, moment):
    in_sql(overwrite_walk("walked_at", moment, chain[3][0]))
    assert first_fault() == (4, "It or its record holds a value that cannot be read.")
    in_sql(overwrite_entry("entered_at", moment, 2))
    assert first_fault() == (2, "It or its record holds a value that cannot be read.")


def test_another_signer_or_job_of_an_entry_is_found(chain, in_sql):
    for column, other in (("entered_by_id", PersonFactory().pk), ("job_id", JobFactory().pk)):
        before = getattr(chain[3][1], column)
        in_sql(overwrite_entry(column, other, 4))
        assert first_fault()[1].startswith("Its own digest is")
        in_sql(overwrite_entry(column, before, 4))


def test_another_predecessor_is_found(chain, in_sql):
    in_sql(("UPDATE locates_ledgerentry SET previous_sha256=%s WHERE sequence=4", "b" * 64))
    assert first_fault() == (
        4,
        f"It names {'b' * 64} as the digest of the entry before, which is {chain[2][1].entry_sha256}.",
    )


@pytest.mark.parametrize("gone", [1, 3, 5])
def test_a_removal_in_the_middle_or_at_the_beginning_is_found(chain, in_sql, gone):
    in_sql(("DELETE FROM locates_ledgerentry WHERE sequence=%s", gone))
    assert first_fault() == (gone, f"It is missing: entry {gone + 1} stands in its place.")


def test_a_removal_whose_followers_move_up_is_found(chain, in_sql):
    in_sql(
        ("DELETE FROM locates_ledgerentry WHERE sequence=3",),
        ("DELETE FROM conflicts_dailywalk WHERE id=%s", chain[2][0].pk),
        *(move(n, n - 1) for n in (4, 5, 6)),
    )
    sequence, why = first_fault()
    assert (sequence, why[:8]) == (3, "It names")


def test_a_removal_at_the_end_is_found_by_the_record_that_is_left(chain, in_sql):
    in_sql(("DELETE FROM locates_ledgerentry WHERE sequence=6",))
    assert first_fault() == (None, "A signed record has no entry.")


def test_a_removal_at_the_end_with_its_record_is_told_by_the_record_of_changes(chain, in_sql):
    take_out = (
        ("DELETE FROM locates_ledgerentry WHERE sequence=6",),
        ("DELETE FROM conflicts_dailywalk WHERE id=%s", chain[-1][0].pk),
    )
    in_sql(*take_out)
    assert prove_ledger().fault == Fault(None, "walk", chain[-1][0].pk, CHANGED_SINCE)
    in_sql(("DELETE FROM locates_recordevent WHERE action = 'delete'",))
    assert prove_ledger().fault == Fault(None, "walk", chain[-1][0].pk, GONE)
    assert prove_ledger(last=3).is_proven


def test_a_removal_at_the_end_with_its_record_and_events_is_found_by_the_head_alone(chain, in_sql):
    head = chain[-1][1].entry_sha256
    in_sql(
        ("DELETE FROM locates_ledgerentry WHERE sequence=6",),
        ("DELETE FROM conflicts_dailywalk WHERE id=%s", chain[-1][0].pk),
        ("DELETE FROM locates_recordevent WHERE record_id=%s", chain[-1][0].pk),
    )
    assert prove_ledger().is_proven
    out = StringIO()
    with pytest.raises(SystemExit) as left:
        call_command("verify_ledger", head=head, stdout=out)
    assert left.value.code == 1
    assert out.getvalue() == f"Not proven. No entry has the digest {head}, which was noted as the head.\n"


def make_anew(chain, in_sql):
    """Another second walk, and the whole chain anew over it."""
    walks = [walk for walk, _ in chain]
    in_sql(
        ("UPDATE conflicts_dailywalk SET marks_intact = false WHERE id=%s", walks[1].pk),
        ("DELETE FROM locates_ledgerentry",),
    )
    for walk in walks:
        enter(walk, by=walk.walked_by)
    return walks[1].pk


def test_a_chain_made_anew_throughout_is_told_by_the_record_of_changes(chain, in_sql):
    altered = make_anew(chain, in_sql)
    assert first_fault() == (2, CHANGED_SINCE)
    in_sql(("DELETE FROM locates_recordevent WHERE action = 'update'",))
    assert prove_ledger().fault == Fault(2, "walk", altered, UNKNOWN)


def test_a_chain_made_anew_throughout_with_its_events_is_found_by_the_head_alone(chain, in_sql):
    head = chain[-1][1].entry_sha256
    altered = make_anew(chain, in_sql)
    in_sql(
        ("DELETE FROM locates_recordevent WHERE action = 'update'",),
        (
            "UPDATE locates_recordevent SET after = jsonb_set(after, '{marks_intact}', 'false')"
            " WHERE record_id = %s",
            altered,
        ),
    )
    assert prove_ledger().is_proven
    assert prove_ledger(noted_head=head).fault.why.startswith("No entry has the digest")


def test_a_record_put_in_at_the_end_with_its_entry_past_the_triggers_is_told_by_the_record_of_changes(
    chain, in_sql
):
    in_sql(
        ("SET CONSTRAINTS ALL IMMEDIATE",), ("ALTER TABLE conflicts_dailywalk DISABLE TRIGGER keep_insert",)
    )
    forged = DailyWalkFactory(bore=chain[0][0].bore, walked_by=chain[0][0].walked_by)
    enter(forged, by=forged.walked_by)
    assert first_fault() == (7, UNKNOWN)


def test_events_of_signed_records_that_were_taken_out_or_written_over_are_found(chain, in_sql):
    number_5 = chain[4][0].pk
    other = json.dumps({"remarks": ""})
    in_sql(
        (
            "UPDATE locates_recordevent SET after = after || %s::jsonb WHERE record_id = %s",
            other,
            number_5,
        )
    )
    assert first_fault() == (5, UNKNOWN)
    in_sql(("DELETE FROM locates_recordevent WHERE record_id = %s", number_5))
    assert first_fault() == (5, UNKNOWN)


def test_a_column_that_a_migration_adds_to_signed_records_is_no_change_of_them(chain, in_sql):
    in_sql(
        ("SET CONSTRAINTS ALL IMMEDIATE",),
        ("ALTER TABLE conflicts_dailywalk ADD COLUMN weather text DEFAULT 'dry'",),
    )
    assert first_fault() == (1, UNKNOWN)
    in_sql(("SELECT locates_keep_record_of('conflicts_dailywalk', 'NULL::uuid')",))
    assert prove_ledger().is_proven


def test_a_record_put_in_without_an_entry_is_found(chain):
    forged = DailyWalkFactory()
    assert not prove_ledger().is_proven
    assert prove_ledger().fault == Fault(None, "walk", forged.pk, "A signed record has no entry.")


def test_the_removal_of_a_record_is_found(chain, in_sql):
    in_sql(("DELETE FROM conflicts_dailywalk WHERE id=%s", chain[3][0].pk))
    assert first_fault() == (4, "Its record is gone.")


def test_an_insertion_without_a_fault_of_its_own_is_found_at_the_entry_behind_it(chain, in_sql):
    """A forged walk with its forged entry as number 4; the later ones are moved on and tied to it."""
    bore, person = chain[0][0].bore, chain[0][0].walked_by
    forged = DailyWalkFactory(bore=bore, walked_by=person)
    forged.refresh_from_db()
    entry = forged_entry(forged.pk, "walk", canonical_text(forged.ledger_content()), chain[2][1])
    in_sql(
        *(move(n, n + 1) for n in (6, 5, 4)),
        ("UPDATE locates_ledgerentry SET previous_sha256=%s WHERE sequence=5", entry.entry_sha256),
    )
    entry.save(force_insert=True)
    sequence, why = first_fault()
    assert (sequence, why[:17]) == (5, "Its own digest is")
    rehash(in_sql, 5)
    sequence, why = first_fault()
    assert (sequence, why[:8]) == (6, "It names")


def test_an_insertion_at_the_end_of_no_record_is_found(chain):
    last = chain[-1][1]
    forged_entry(uuid4(), "walk", last.content, last).save(force_insert=True)
    assert first_fault() == (7, "Its record is gone.")


def test_an_insertion_of_an_unknown_kind_is_found(chain):
    forged_entry(uuid4(), "stroll", "{}", chain[-1][1]).save(force_insert=True)
    assert first_fault() == (7, "It is of no kind that is signed here.")


def test_two_swapped_numbers_are_found(chain, in_sql):
    in_sql(move(3, 99), move(5, 3), move(99, 5))
    sequence, why = first_fault()
    assert (sequence, why[:8]) == (3, "It names")


def test_the_last_entry_put_first_is_found(chain, in_sql):
    in_sql(move(6, 99), *(move(n, n + 1) for n in (5, 4, 3, 2, 1)), move(99, 1))
    sequence, why = first_fault()
    assert (sequence, why[:8]) == (1, "It names")


def test_numbers_that_no_longer_begin_at_one_are_found(chain, in_sql):
    in_sql(*(move(n, n + 1) for n in range(6, 0, -1)))
    assert first_fault() == (1, "It is missing: entry 2 stands in its place.")


@pytest.mark.parametrize("number", [0, -4, -(2**63)])
def test_a_number_below_one_is_found(chain, in_sql, number):
    in_sql(FREE_THE_NUMBERS, move(6, number))
    assert first_fault() == (1, f"It is missing: entry {number} stands in its place.")


@pytest.mark.parametrize("head", ["", "abc", "G" * 64, "A" * 64])
def test_a_head_that_is_no_digest_is_bad_input(head):
    with pytest.raises(CommandError, match=r"--head: found '.*'; accepted are 64 digits") as refused:
        call_command("verify_ledger", head=head)
    assert refused.value.returncode == 2


def test_only_the_last_entries_can_be_proven(chain, in_sql):
    in_sql(("UPDATE conflicts_dailywalk SET remarks='' WHERE id=%s", chain[1][0].pk))
    proof = prove_ledger(last=4)
    assert (proof.is_proven, proof.count) == (True, 4)
    assert prove_ledger(last=5).fault.sequence == 2
    assert prove_ledger(last=600).fault.sequence == 2


def test_where_the_entry_before_the_last_ones_is_gone_all_is_proven(chain, in_sql):
    in_sql(("DELETE FROM locates_ledgerentry WHERE sequence=2",))
    assert prove_ledger(last=4).fault.sequence == 2


def test_the_number_of_queries_is_that_of_batches_and_kinds(django_assert_num_queries, monkeypatch):
    """The head; for each batch its entries and their records by kind; the end; each kind's bare records; the
    events that tell who stored them, and those of a change, how the tables tell a row, and each kind's rows
    beside their events; the guards that stand, and what else could get past them.
    """
    sign_walks(40)
    monkeypatch.setattr("locates.desk.prove_ledger.ENTRIES_AT_A_TIME", 20)
    with django_assert_num_queries(1 + 2 * (1 + 1) + 1 + len(signed_kinds()) + 3 + len(signed_kinds()) + 2):
        assert prove_ledger().count == 40


def test_the_memory_does_not_grow_with_the_chain(monkeypatch):
    monkeypatch.setattr("locates.desk.prove_ledger.ENTRIES_AT_A_TIME", 50)
    peaks = []
    for more in (100, 700):
        sign_walks(more)
        prove_ledger()
        tracemalloc.start()
        assert prove_ledger().is_proven
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert LedgerEntry.objects.count() == 800
    assert peaks[1] < 1.2 * peaks[0]
