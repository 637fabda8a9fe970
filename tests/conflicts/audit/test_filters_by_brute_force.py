"""Each filter of each part, on page and in files, held to a plain reading of the records one by one."""

import csv
import io
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from zoneinfo import ZoneInfo

from django.utils import timezone
from openpyxl import load_workbook

from conflicts.audit.columns import page_cells
from conflicts.audit.parts import SECTIONS
from conflicts.models import Bore, CrossingWatch, DamageReport, DrilledAloneCrossing, Release, Variance
from conflicts.models.audit_filters import AuditFilters
from locates.models import Job, Mark, RecordEvent, TestHole
from tests import factories
from tests.companies import TwoCompanies, client_of
from tests.conflicts.audit import signed_stories as stories
from tests.signing import signing

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
PEOPLE = ("Ada Fenwick", "Bram Orley", "Cora Tims")
VERDICTS = ("clear", "short", "unexposed")
MANY = 10_000

# What tells the rows of a part from each other in a file.
KEYS = {
    "releases": ("release_id",),
    "unwatched": ("mark", "bore", "job"),
    "margins": ("record_id", "mark"),
    "excused": ("variance_id", "mark"),
    "variances": ("variance_id",),
    "edits": ("record_id", "changes"),
    "damage": ("report_id",),
}


def tell(job, draw, now):
    """Bores of a job with records of many days and people; lines that are renamed, holes given away."""
    operator = job.operators.first()
    marks = [
        factories.MarkFactory(job=job, operator=operator, ref=f"{job.name.split()[0]}-{number}")
        for number in range(3)
    ]
    holes = [factories.TestHoleFactory(job=job, mark=one) for one in marks]
    for number in range(3):
        bore = factories.BoreFactory(job=job, name=f"Run {number} of {job.name}")
        for _ in range(2):
            _tell_bore(bore, marks, draw, now - draw.randrange(2, 12) * DAY)
        _edit(marks, holes, draw)


def _tell_bore(bore, marks, draw, at):
    shapes = [
        stories.crossing(
            mark.ref, station_m=20.0 * place, worst_m=draw.choice([0.2, 0.5]), verdict=draw.choice(VERDICTS)
        )
        for place, mark in enumerate(marks, 1)
        if draw.random() < 0.8
    ]
    named = [one for one in marks if one.ref in {shape["mark_ref"] for shape in shapes}]
    signed = stories.release(
        bore,
        shapes,
        at=at,
        by=draw.choice(PEOPLE),
        marks=named,
        inputs_digest=f"{draw.getrandbits(256):064x}",
    )
    if draw.random() < 0.3:
        stories.withdraw(signed, at=at + draw.choice([1, 11]) * HOUR)
    for place, mark in enumerate(marks, 1):
        by, when = draw.choice(PEOPLE), at + draw.randrange(60) * HOUR / 2
        if draw.random() < 0.4:
            passed = draw.choice(["pilot", "reaming", "pullback"])
            stories.watch(bore, mark, passed=passed, station_m=20.0 * place, at=when, by=by)
        if draw.random() < 0.5:
            asked = stories.variance(bore, mark, at=when, station_m=20.0 * place, subject="watch")
            if draw.random() < 0.8:
                stories.sign_variance(asked, at=when, by=by)
            if draw.random() < 0.2:
                stories.end_variance(asked, at=when + HOUR)
        if draw.random() < 0.3:
            stories.damage(bore, mark, at=when)
    if draw.random() < 0.5 and not bore.drilled_rods.exists():
        stories.rod(bore, at=at + draw.randrange(60) * HOUR, by=draw.choice(PEOPLE))


def _edit(marks, holes, draw):
    """Give some lines another name, and a hole to another line."""
    for mark in marks:
        if draw.random() < 0.5:
            mark.ref = f"{mark.ref}x"
            with signing(stories.signer(draw.choice(PEOPLE))):
                mark.save()
    given = draw.choice(holes)
    given.mark = draw.choice([one for one in marks if one != given.mark])
    with signing(stories.signer(draw.choice(PEOPLE))):
        given.save()


@dataclass(frozen=True)
class Told:
    """What a row is to be found by: of each crossing every name of its line, and any verdict."""

    job: str
    bores: list[str]
    people: list[str]
    first_day: date
    last_day: date
    crossings: list[tuple[set[str], str | None]]

    def fits(self, filters):
        """Whether the row is to be listed."""
        return (
            filters.job.lower() in self.job.lower()
            and (not filters.bore or any(filters.bore.lower() in one.lower() for one in self.bores))
            and (not filters.person or any(filters.person.lower() in one.lower() for one in self.people))
            and (filters.day_from is None or filters.day_from <= self.last_day)
            and (filters.day_to is None or self.first_day <= filters.day_to)
            and ((not filters.mark_ref and not filters.verdict) or any(self._lies(filters)))
        )

    def _lies(self, filters):
        for names, verdict in self.crossings:
            is_named = not filters.mark_ref or filters.mark_ref.lower() in names
            yield is_named and (not filters.verdict or verdict in (None, filters.verdict))


def told(job, bores, people, moments, crossings):
    """What a row is found by, its days by the clock of its job."""
    zone = ZoneInfo(job.time_zone)
    days = [one.astimezone(zone).date() for one in moments]
    return Told(job.name, [one.name for one in bores if one], people, min(days), max(days), crossings)


def names_of(*keys, said=""):
    """Every name that lines have or had, and the one that a record says."""
    found = {said.lower()}
    for key in keys:
        found |= {one.ref.lower() for one in Mark.with_retired.filter(pk=key)}
        for event in RecordEvent.objects.filter(table_name="locates_mark", record_id=key):
            found |= {side["ref"].lower() for side in (event.before, event.after) if side}
    return found


def of_release(one):
    people = [one.signed_by_name]
    if hasattr(one, "withdrawal"):
        people.append(one.withdrawal.withdrawn_by_name)
    crossings = [
        (names_of(*key_of(one, place), said=crossing["mark_ref"]), crossing["verdict"])
        for place, crossing in enumerate(one.document["crossings"])
    ]
    return told(one.bore.job, [one.bore], people, [one.signed_at], crossings)


def key_of(release, place):
    """The mark of a crossing of a release, where it kept that."""
    return [] if release.crossing_marks is None else [release.crossing_marks[place]]


def of_variance(one):
    people = [one.requested_by_name]
    people += [one.signature.signed_by_name] if hasattr(one, "signature") else []
    people += [one.end.ended_by_name] if hasattr(one, "end") else []
    lines = [(names_of(one.mark_id), None)]
    return told(one.bore.job, [one.bore], people, [one.requested_at], lines)


def of_damage(one):
    lines = [(names_of(one.mark_id), None)]
    return told(one.job, [one.bore], [one.reported_by_name], [one.happened_at], lines)


def of_edit(one):
    job = Job.with_retired.get(pk=one.job_id)
    sides = [side for side in (one.before, one.after) if side]
    if one.table_name == TestHole._meta.db_table:
        keys = [side["mark_id"] for side in sides]
    else:
        keys = [one.record_id]
    released = Release.objects.filter(bore__job=job, last_event_id__lt=one.pk)
    lines = [(names_of(*keys), None)]
    return told(job, [each.bore for each in released], [one.person_name], [one.happened_at], lines)


def of_margin(row):
    if row.is_measured or row.is_drilled:
        model = CrossingWatch if row.is_measured else DrilledAloneCrossing
        signed = model.objects.get(pk=row.id)
        keys = [signed.mark_id]
    else:
        signed = Release.objects.get(pk=row.id)
        keys = key_of(signed, row.ordinal - 1)
    lines = [(names_of(*keys, said=row.mark_ref), row.verdict)]
    return told(signed.bore.job, [signed.bore], [row.person], [row.at], lines)


def of_unwatched(row):
    bore = Bore.with_retired.get(pk=row.bore_id)
    moments, people = drilling_of(bore)
    people += [
        one.signed_by_name
        for one in bore.releases.all()
        if not hasattr(one, "withdrawal") or one.withdrawal.withdrawn_at >= max(one.signed_at, one.shift_from)
    ]
    return told(bore.job, [bore], people, moments, [(names_in(bore.job, row), row.verdict)])


def of_excused(row):
    bore = Bore.with_retired.get(pk=row.bore_id)
    people = of_variance(Variance.objects.get(pk=row.variance_id)).people
    return told(bore.job, [bore], people, drilling_of(bore)[0], [(names_in(bore.job, row), row.verdict)])


def names_in(job, row):
    """Every name of the line that a row names; no two lines of these jobs ever shared one."""
    keys = [one.pk for one in Mark.with_retired.filter(job=job) if row.mark_ref.lower() in names_of(one.pk)]
    return names_of(*keys, said=row.mark_ref)


def drilling_of(bore):
    """The moments of what is recorded of a bore's drilling, and who signed it, but for releases."""
    moments = [one.watched_at for one in bore.watches.all()]
    people = [one.watched_by_name for one in bore.watches.all()]
    for one in bore.drilled_rods.all():
        if not hasattr(one, "withdrawal") or one.withdrawal.kind != "undo":
            moments.append(one.logged_at)
            people.append(one.logged_by_name)
    for one in bore.hole_passes.all():
        if not hasattr(one, "withdrawal"):
            moments += [one.made_at, one.ended_at or one.logged_at]
            people.append(one.logged_by_name)
    if hasattr(bore, "close_out"):
        moments.append(bore.close_out.closed_at)
        people.append(bore.close_out.closed_by_name)
    for one in bore.releases.all():
        taken_at = one.withdrawal.withdrawn_at if hasattr(one, "withdrawal") else one.shift_until
        if one.shift_until <= min(taken_at, timezone.now()):
            moments += [one.shift_from, one.shift_until]
    return moments, people


READ = {
    "releases": of_release,
    "unwatched": of_unwatched,
    "margins": of_margin,
    "excused": of_excused,
    "variances": of_variance,
    "edits": of_edit,
    "damage": of_damage,
}


class TestFilters(TwoCompanies):
    """Our company's records are told of twice; theirs once, and are never to be seen."""

    @classmethod
    def setUpTestData(cls):
        """Add to both companies' jobs, and read ours."""
        super().setUpTestData()
        draw = Random(4711)  # noqa: S311 - any will do
        cls.now = timezone.now()
        second = factories.JobFactory(organisation=cls.ours.organisation, name="Tanager Way")
        factories.FacilityOperatorFactory(job=second)
        for job in (cls.ours.job, second, cls.theirs.job):
            tell(job, draw, cls.now)
        cls.filters = cls.choices(draw)

    @classmethod
    def choices(cls, draw):
        """Each filter by itself, then some together."""
        company = cls.ours.organisation.pk
        refs = sorted(
            {one.ref for one in Mark.with_retired.all()} | {"Tanager-0", "Quillmere-1", "tanager-2"}
        )
        days = [(cls.now - ago * DAY).date() for ago in range(-1, 14)]
        values = {
            "job": ["tanager", "Quillmere", "nowhere"],
            "bore": ["run 1", "RUN 2 of Tan", "nowhere"],
            "mark_ref": refs,
            "person": ["fenwick", "Orley", "tims", "Quillmere Pell", "nobody"],
            "day_from": days,
            "day_to": days,
            "verdict": list(VERDICTS),
        }
        single = [{name: value} for name, every in values.items() for value in every]
        single += [{"day_from": one, "day_to": one} for one in days]
        several = [
            {name: draw.choice(values[name]) for name in draw.sample(sorted(values), draw.choice([2, 2, 3]))}
            for _ in range(60)
        ]
        return [AuditFilters(company, **one) for one in single + several]

    def test_every_record_of_ours_is_listed_and_none_of_theirs(self):
        filters = AuditFilters(self.ours.organisation.pk)
        for code, model in (("releases", Release), ("variances", Variance)):
            ours = model.objects.filter(bore__job__organisation=self.ours.organisation)
            assert rows_of(code, filters) == set(ours)
        ours = DamageReport.objects.filter(job__organisation=self.ours.organisation)
        assert rows_of("damage", filters) == set(ours)

    def test_every_filter_of_every_part_chooses_what_a_plain_reading_chooses(self):
        for section in SECTIONS:
            rows = section.rows(AuditFilters(self.ours.organisation.pk), None, MANY)
            read = [(row, READ[section.code](row)) for row in rows]
            hits = 0
            for filters in self.filters:
                chosen = [section.place_of(row) for row, one in read if one.fits(filters)]
                found = [section.place_of(row) for row in section.rows(filters, None, MANY)]
                assert found == chosen, (section.code, filters)
                assert section.count(filters) == len(chosen), (section.code, filters)
                hits += 0 < len(chosen) < len(rows)
            assert hits > 10, section.code

    def test_the_page_and_both_files_hold_the_same_rows(self):
        manager = client_of(self.ours.people["Safety manager"])
        for query in ({"mark_ref": "tanager-0"}, {"person": "orley", "job": "way"}, {"verdict": "short"}):
            filters = AuditFilters(self.ours.organisation.pk, **query)
            book = load_workbook(io.BytesIO(manager.get("/audit/audit.xlsx", query).content))
            for section in SECTIONS:
                rows = section.rows(filters, None, MANY)
                columns = [one for one in section.columns if one.name in KEYS[section.code]]
                wanted = [[str(one.value(row)) for one in columns] for row in rows]
                names = [one.name for one in columns]
                assert csv_rows(manager, section, query, names) == wanted, (section.code, query)
                assert book_rows(book[section.code], names) == wanted, (section.code, query)
                page = manager.get("/audit/", {**query, "section": section.code}).context["page"]
                shown = [page_cells(section.columns, row, section.look_of(row)) for row in rows[:50]]
                assert page.rows == shown, (section.code, query)


def rows_of(code, filters):
    [section] = [one for one in SECTIONS if one.code == code]
    return set(section.rows(filters, None, MANY))


def csv_rows(client, section, query, names):
    response = client.get("/audit/part.csv", {**query, "section": section.code})
    if response.status_code == 400:
        assert "nothing fits" in response.content.decode()
        return []
    read = csv.DictReader(io.StringIO(response.content.decode()))
    return [[row[name] for name in names] for row in read]


def book_rows(sheet, names):
    head, *rows = ([cell.value for cell in row] for row in sheet.rows)
    return [[str(row[head.index(name)]) for name in names] for row in rows]
