"""Records of a small valid job in an invented place, in plain Python.

The place is a stretch of one street about `PLACE`: a bore of 100 m runs east from it, lines cross it.
A test that empties the tables (``transactional_db``, ``live_server``) also asks for
``django_db_serialized_rollback``, which puts the seeded rules and roles back.
"""

from datetime import UTC, datetime
from hashlib import sha256
from math import hypot
from uuid import uuid4

import factory
from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.contrib.gis.geos import LineString, MultiPolygon, Point, Polygon
from django.utils import timezone
from factory.django import DjangoModelFactory

from conflicts.alignment import alignment_length_m
from conflicts.engine.frame import GroundFrame
from conflicts.models import (
    Assessment,
    Bore,
    Crossing,
    DailyWalk,
    DrilledAloneCrossing,
    DrilledRod,
    HolePass,
    HolePassWithdrawal,
    LocatorCheck,
    Pit,
    RecordMaking,
    RodWithdrawal,
    RouteJoint,
    Variance,
    VariancePaper,
)
from locates.models import (
    CalendarFeed,
    CentreDay,
    ClearanceRequirement,
    FacilityOperator,
    Follow,
    GroundPoint,
    ImportWork,
    Job,
    JurisdictionRule,
    LedgerEntry,
    Linework,
    Mark,
    Membership,
    Notice,
    NoticeSetting,
    Organisation,
    OutgoingMail,
    Photo,
    Response,
    ResponsePaper,
    SavedView,
    SurfaceFeature,
    TestHole,
    TextReader,
    Ticket,
    TicketMatter,
    TicketStanding,
    VectorImport,
)

PLACE = GroundFrame(-78.5, 38.0)
BORE_LENGTH_M = 100.0
PASSWORD = "a long invented password"  # noqa: S105 - for the invented people of the tests

CALLED_AT = datetime(2026, 11, 2, 13, 0, tzinfo=UTC)
LEGAL_START_AT = datetime(2026, 11, 5, 12, 0, tzinfo=UTC)
MARKED_AT = datetime(2026, 11, 4, 15, 0, tzinfo=UTC)
MEASURED_AT = datetime(2026, 11, 6, 14, 0, tzinfo=UTC)
PLANNED_START_AT = datetime(2026, 11, 10, 13, 0, tzinfo=UTC)
PLANNED_FINISH_AT = datetime(2026, 11, 11, 21, 0, tzinfo=UTC)
EXPIRES_AT = datetime(2026, 11, 24, 12, 0, tzinfo=UTC)
DIGEST = "0123456789abcdef" * 4


def _degrees(*places_m: tuple[float, float]) -> list[tuple[float, float]]:
    return [(float(lon), float(lat)) for lon, lat in PLACE.to_geographic(places_m)]


def point(east_m: float, north_m: float) -> Point:
    """A point, by its distances from the place."""
    return Point(*_degrees((east_m, north_m))[0], srid=4326)


def line(*places_m: tuple[float, float]) -> LineString:
    """A polyline through places given by their distances from the place."""
    return LineString(_degrees(*places_m), srid=4326)


def box(west_m: float, south_m: float, east_m: float, north_m: float) -> Polygon:
    """An upright rectangle."""
    corners = ((west_m, south_m), (east_m, south_m), (east_m, north_m), (west_m, north_m), (west_m, south_m))
    return Polygon(_degrees(*corners), srid=4326)


def ground_length_m(bore: Bore) -> float:
    """The length that whoever saves a bore sets."""
    return alignment_length_m(bore.alignment.coords, bore.job.mean_height_m)


def person_in_role(role: str, organisation=None, **values):
    """A person in one of the roles "Coordinator", "Foreman" and "Safety manager", of the jobs' company."""
    of = {} if organisation is None else {"membership__organisation": organisation}
    person = PersonFactory(is_staff=True, **of, **values)
    person.groups.add(Group.objects.get(name=role))
    return person


class PersonFactory(DjangoModelFactory):
    """A person of the jobs' company who can log in with `PASSWORD`; of none with ``membership=None``."""

    class Meta:
        model = get_user_model()
        skip_postgeneration_save = True

    username = factory.Sequence("person{}".format)
    password = factory.django.Password(PASSWORD)
    membership = factory.RelatedFactory("tests.factories.MembershipFactory", "user")


class OrganisationFactory(DjangoModelFactory):
    """A company that drills."""

    class Meta:
        model = Organisation

    name = factory.Sequence("Larkfield Boring {}".format)


class HomeOrganisationFactory(DjangoModelFactory):
    """The company of every job and person here for whom no other is named."""

    class Meta:
        model = Organisation
        django_get_or_create = ("name",)

    name = "Larkfield Boring"


class MembershipFactory(DjangoModelFactory):
    """A person of that company."""

    class Meta:
        model = Membership

    user = factory.SubFactory(PersonFactory, membership=None)
    organisation = factory.SubFactory(HomeOrganisationFactory)


class JurisdictionRuleFactory(DjangoModelFactory):
    """A rule of an invented jurisdiction; `seeded_rule` gives one that the program ships."""

    class Meta:
        model = JurisdictionRule

    code = factory.Sequence("Z{}".format)
    checked_on = "2026-11-01"
    tolerance_zone_m = 0.6096
    tolerance_is_sure = True
    readings_agree = "yes"
    citation = "Invented Code 1"


class OwnRuleFactory(JurisdictionRuleFactory):
    """What a company has read itself."""

    organisation = factory.SubFactory(HomeOrganisationFactory)
    citation = "Invented Code 1, as we read it"


def seeded_rule(code: str = "VA") -> JurisdictionRule:
    """The rule of a jurisdiction as the program ships it."""
    return JurisdictionRule.objects.get(organisation=None, code=code, version=1)


class JobFactory(DjangoModelFactory):
    """A job under the rule of Virginia, with no records of its own yet."""

    class Meta:
        model = Job

    organisation = factory.SubFactory(HomeOrganisationFactory)
    name = factory.Sequence("Alder Street {}".format)
    jurisdiction = factory.LazyFunction(seeded_rule)
    time_zone = "America/New_York"


class FacilityOperatorFactory(DjangoModelFactory):
    """An owner of buried lines."""

    class Meta:
        model = FacilityOperator

    job = factory.SubFactory(JobFactory)
    name = factory.Sequence("Brindle Utilities {}".format)
    emergency_phone = "555-0100"


class ClearanceRequirementFactory(DjangoModelFactory):
    """What the job demands of every line."""

    class Meta:
        model = ClearanceRequirement

    job = factory.SubFactory(JobFactory)
    crossing_m = 0.305
    alongside_m = 0.61


class TicketFactory(DjangoModelFactory):
    """A ticket whose work area holds the bore, in force on the planned days."""

    class Meta:
        model = Ticket

    job = factory.SubFactory(JobFactory)
    number = factory.Sequence("T{:06d}".format)
    ticket_kind = "routine"
    called_at = CALLED_AT
    legal_start_at = LEGAL_START_AT
    expires_at = EXPIRES_AT
    white_lined = True
    boring_declared = True
    area = factory.LazyFunction(lambda: MultiPolygon(box(-20, -20, BORE_LENGTH_M + 20, 20), srid=4326))


class ResponseFactory(DjangoModelFactory):
    """An operator's answer that it has marked."""

    class Meta:
        model = Response

    ticket = factory.SubFactory(TicketFactory)
    operator = factory.SubFactory(FacilityOperatorFactory, job=factory.SelfAttribute("..ticket.job"))
    response = "marked"
    responded_at = MARKED_AT
    sequence = factory.LazyAttribute(lambda response: response.ticket.responses.count())


class ResponsePaperFactory(DjangoModelFactory):
    """A note that came with an answer."""

    class Meta:
        model = ResponsePaper

    response = factory.SubFactory(ResponseFactory)
    file_name = "note.txt"
    media_type = "text/plain"
    content = b"Marked along the curb."
    size_bytes = factory.LazyAttribute(lambda paper: len(paper.content))
    sha256 = factory.LazyAttribute(lambda paper: sha256(paper.content).hexdigest())


class TicketStandingFactory(DjangoModelFactory):
    """A ticket in force, one of whose two operators has not answered."""

    class Meta:
        model = TicketStanding

    ticket = factory.SubFactory(TicketFactory)
    job = factory.SelfAttribute("ticket.job")
    organisation = factory.SelfAttribute("job.organisation")
    called_at = factory.SelfAttribute("ticket.called_at")
    state = "in_force"
    named_count = 2
    awaited_count = 1
    changes_at = EXPIRES_AT
    reckoned_at = LEGAL_START_AT


class TicketMatterFactory(DjangoModelFactory):
    """A ticket that expires soon."""

    class Meta:
        model = TicketMatter

    ticket = factory.SubFactory(TicketFactory)
    job = factory.SelfAttribute("ticket.job")
    organisation = factory.SelfAttribute("job.organisation")
    matter = "expires_soon"
    due_at = EXPIRES_AT


class SavedViewFactory(DjangoModelFactory):
    """The expired tickets, which a person keeps under a name."""

    class Meta:
        model = SavedView

    user = factory.SubFactory(PersonFactory)
    name = factory.Sequence("Expired {}".format)
    board_list = "tickets"
    query = "state=expired"


class TextReaderFactory(DjangoModelFactory):
    """A company's patterns for one layout of confirmation."""

    class Meta:
        model = TextReader

    organisation = factory.SubFactory(HomeOrganisationFactory)
    name = factory.Sequence("Layout {}".format)
    patterns = factory.LazyFunction(lambda: {"number": r"Ticket no\. (T\d+)"})


class CentreDayFactory(DjangoModelFactory):
    """A day of which a centre has said that nobody works."""

    class Meta:
        model = CentreDay

    code = "CA"
    day = "2026-11-27"
    is_working = False
    words = "told by the centre"


class FollowFactory(DjangoModelFactory):
    """A person who follows one ticket."""

    class Meta:
        model = Follow

    person = factory.SubFactory(PersonFactory)
    ticket = factory.SubFactory(TicketFactory)


class JobFollowFactory(FollowFactory):
    """A person who follows a whole job."""

    ticket = None
    job = factory.SubFactory(JobFactory)


class NoticeFactory(DjangoModelFactory):
    """A person was told that a ticket has expired."""

    class Meta:
        model = Notice

    person = factory.SubFactory(PersonFactory)
    ticket = factory.SubFactory(TicketFactory)
    job = factory.SelfAttribute("ticket.job")
    event = "expired"
    due_at = EXPIRES_AT
    subject = "A ticket has expired"
    words = "A ticket has expired: stop digging."


class MarkNoticeFactory(NoticeFactory):
    """A person was told that a mark is gone."""

    mark = factory.SubFactory("tests.factories.MarkFactory")
    ticket = factory.SelfAttribute("mark.ticket")
    job = factory.SelfAttribute("mark.job")
    event = "mark_gone"


class NoticeSettingFactory(DjangoModelFactory):
    """A person's choices, all as they are where nobody chose."""

    class Meta:
        model = NoticeSetting

    person = factory.SubFactory(PersonFactory)


class OutgoingMailFactory(DjangoModelFactory):
    """A digest that waits to be sent."""

    class Meta:
        model = OutgoingMail

    person = factory.SubFactory(PersonFactory)
    kind = "digest"
    digest_on = EXPIRES_AT.date()
    to_address = factory.Sequence("person{}@example.com".format)
    subject = "Tickets today"
    body = "Nothing needs a person."
    message_id = factory.Sequence("<{}@example.com>".format)
    next_attempt_at = EXPIRES_AT


class CalendarFeedFactory(DjangoModelFactory):
    """A private address in use."""

    class Meta:
        model = CalendarFeed

    person = factory.SubFactory(PersonFactory)
    token_hash = factory.Sequence("{:064d}".format)


class MarkFactory(DjangoModelFactory):
    """A gas line painted straight across the middle of the bore."""

    class Meta:
        model = Mark

    job = factory.SubFactory(JobFactory)
    ref = factory.Sequence("M{}".format)
    operator = factory.SubFactory(FacilityOperatorFactory, job=factory.SelfAttribute("..job"))
    facility_type = "gas_oil_steam"
    marked_at = MARKED_AT
    stated_width_m = 0.1
    is_intact = True
    geometry = factory.LazyFunction(lambda: line((50, -15), (50, 15)))


class TestHoleFactory(DjangoModelFactory):
    """A hole on the default mark that found its line at 0.9 m."""

    __test__ = False  # not a test class, whatever its name says to pytest

    class Meta:
        model = TestHole

    job = factory.SubFactory(JobFactory)
    ref = factory.Sequence("H{}".format)
    found = True
    depth_to_top_m = 0.9
    measured_at = MEASURED_AT
    measured_by = "R. Pell"
    measured_how = "tape from the ground"
    is_open = True
    position = factory.LazyFunction(lambda: point(50, 0))


class SurfaceFeatureFactory(DjangoModelFactory):
    """A gas valve beside the default mark."""

    class Meta:
        model = SurfaceFeature

    job = factory.SubFactory(JobFactory)
    ref = factory.Sequence("S{}".format)
    feature_type = "valve"
    facility_type = "gas_oil_steam"
    seen_at = MARKED_AT
    position = factory.LazyFunction(lambda: point(50, 1))


class GroundPointFactory(DjangoModelFactory):
    """A surveyed point of the ground at the entry."""

    class Meta:
        model = GroundPoint

    job = factory.SubFactory(JobFactory)
    elevation_m = 0.0
    position = factory.LazyFunction(lambda: point(0, 0))


class LineworkFactory(DjangoModelFactory):
    """The curb south of the bore."""

    class Meta:
        model = Linework

    job = factory.SubFactory(JobFactory)
    feature_type = "curb"
    geometry = factory.LazyFunction(lambda: line((-20, -6), (BORE_LENGTH_M + 20, -6)))


class VectorImportFactory(DjangoModelFactory):
    """A file of marks that a coordinator uploaded and has not stored yet."""

    class Meta:
        model = VectorImport

    job = factory.SubFactory(JobFactory)
    made_by = factory.LazyFunction(lambda: person_in_role("Coordinator"))
    kind = "mark"
    file_name = "paint.csv"
    content = b""
    expires_at = EXPIRES_AT


class ImportWorkFactory(DjangoModelFactory):
    """A file that waits for a worker to check it."""

    class Meta:
        model = ImportWork

    brought = factory.SubFactory(VectorImportFactory)
    kind = "check"
    state = "queued"
    attempts = 0
    rows_done = 0
    rows_total = 3
    rung_at = MARKED_AT


class BoreFactory(DjangoModelFactory):
    """A bore of 100 m to the east, 2 m deep in the middle."""

    class Meta:
        model = Bore

    job = factory.SubFactory(JobFactory)
    name = factory.Sequence("B{}".format)
    alignment = factory.LazyFunction(lambda: line((0, 0), (BORE_LENGTH_M, 0)))
    alignment_length_m = factory.LazyAttribute(ground_length_m)
    pilot_diameter_m = 0.1
    final_diameter_m = 0.2
    product = "two 50 mm conduits"
    profile_by = "depth"
    profile_stations_m = factory.LazyAttribute(lambda bore: [0.0, 20.0, 80.0, bore.alignment_length_m])
    profile_values_m = factory.LazyFunction(lambda: [0.0, 2.0, 2.0, 0.0])
    rod_length_m = 3.048
    bend_radius_m = 30.48
    entry_pitch_ratio_min = -0.3
    entry_pitch_ratio_max = -0.05
    exit_pitch_ratio_min = 0.05
    exit_pitch_ratio_max = 0.3
    minimum_cover_m = 0.9
    planned_start_at = PLANNED_START_AT
    planned_finish_at = PLANNED_FINISH_AT


class RodBoreFactory(BoreFactory):
    """The same bore planned rod by rod, level at 2 m below the entry's ground."""

    profile_by = ""
    profile_stations_m = factory.LazyFunction(list)
    profile_values_m = factory.LazyFunction(list)
    rods_entry_elevation_m = -2.0
    rod_lengths_m = factory.LazyAttribute(lambda bore: [0.0, 50.0, bore.alignment_length_m - 50.0])
    rod_pitches_ratio = factory.LazyFunction(lambda: [0.0, 0.0, 0.0])
    rod_headings_rad = factory.LazyFunction(lambda: [None, None, None])


class PitFactory(DjangoModelFactory):
    """The pit at the entry."""

    class Meta:
        model = Pit

    bore = factory.SubFactory(BoreFactory)
    end = "entry"
    depth_m = 1.0
    area = factory.LazyFunction(lambda: box(-2, -1, 0, 1))


class RouteJointFactory(DjangoModelFactory):
    """Two ends that lie apart, joined through an open trench."""

    class Meta:
        model = RouteJoint

    job = factory.SubFactory(JobFactory)
    first_bore = factory.SubFactory(BoreFactory, job=factory.SelfAttribute("..job"))
    first_end = "exit"
    second_bore = factory.SubFactory(BoreFactory, job=factory.SelfAttribute("..job"))
    second_end = "entry"
    how = "trench"


class RecordMakingFactory(DjangoModelFactory):
    """A clearance record that waits for a worker to make it."""

    class Meta:
        model = RecordMaking

    bore = factory.SubFactory(BoreFactory)
    made_by = factory.SubFactory(PersonFactory)
    made_by_name = "Wren Ashgrove"
    state = "queued"
    attempts = 0
    rung_at = MARKED_AT


class AssessmentFactory(DjangoModelFactory):
    """Stored figures of a bore, of inputs that are no longer the same."""

    class Meta:
        model = Assessment

    bore = factory.SubFactory(BoreFactory)
    inputs_digest = DIGEST
    length_m = factory.SelfAttribute("bore.alignment_length_m")
    assessed_at = PLANNED_START_AT


class CrossingFactory(DjangoModelFactory):
    """A stored crossing that was clear."""

    class Meta:
        model = Crossing

    assessment = factory.SubFactory(AssessmentFactory)
    bore = factory.SelfAttribute("assessment.bore")
    inputs_digest = factory.SelfAttribute("assessment.inputs_digest")
    sequence = factory.LazyAttribute(lambda crossing: crossing.assessment.crossings.count())
    mark = factory.SubFactory(MarkFactory, job=factory.SelfAttribute("..bore.job"))
    mark_ref = factory.SelfAttribute("mark.ref")
    operator = factory.SelfAttribute("mark.operator.name")
    facility_type = factory.SelfAttribute("mark.facility_type")
    kind = "crossing"
    from_m = 49.0
    to_m = 51.0
    station_m = 50.0
    angle_deg = 90.0
    exposed = True
    passes = "under"
    horizontal_m = 0.0
    vertical_m = 0.9
    separation_m = 0.9
    worst_case_m = 0.7
    likely_m = 0.8
    required_m = 0.305
    verdict = "clear"
    sentence = "Clear: 0.395 m more than required in the worst case."


class DrilledAloneCrossingFactory(DjangoModelFactory):
    """A stored line that only the drilled hole meets, too near to it."""

    class Meta:
        model = DrilledAloneCrossing

    assessment = factory.SubFactory(AssessmentFactory)
    bore = factory.SelfAttribute("assessment.bore")
    sequence = factory.LazyAttribute(lambda crossing: crossing.assessment.drilled_alone.count())
    mark = factory.SubFactory(MarkFactory, job=factory.SelfAttribute("..bore.job"))
    mark_ref = factory.SelfAttribute("mark.ref")
    operator = factory.SelfAttribute("mark.operator.name")
    facility_type = factory.SelfAttribute("mark.facility_type")
    kind = "crossing"
    leg = ""
    is_gone = False
    from_m = 69.0
    to_m = 71.0
    station_m = 70.0
    worst_case_m = 0.1
    required_m = 0.305
    verdict = "short"
    drilled_at = PLANNED_START_AT
    drilled_by_name = "Odell Farrow"


class DailyWalkFactory(DjangoModelFactory):
    """A walk in the morning of the planned start that saw all as it should be; it has no entry."""

    class Meta:
        model = DailyWalk

    bore = factory.SubFactory(BoreFactory)
    walked_at = PLANNED_START_AT
    time_zone = factory.SelfAttribute("bore.job.time_zone")
    walked_by = factory.SubFactory(PersonFactory)
    walked_by_name = "R. Pell"
    marks_intact = True
    device_checked = True
    device = "receiver 7"
    holes_open = True


class VarianceFactory(DjangoModelFactory):
    """What somebody asks to be excused of the watch holes; it has no entry."""

    class Meta:
        model = Variance

    bore = factory.SubFactory(BoreFactory)
    subject = "check"
    check_code = "watch_holes"
    reason = "Two people look."
    requested_by = factory.SubFactory(PersonFactory)
    requested_by_name = "R. Pell"
    requested_at = PLANNED_START_AT


class VariancePaperFactory(DjangoModelFactory):
    """A letter that came with a variance; it has no entry."""

    class Meta:
        model = VariancePaper

    variance = factory.SubFactory(VarianceFactory)
    file_name = "letter.txt"
    media_type = "text/plain"
    content = b"The operator agrees."
    size_bytes = factory.LazyAttribute(lambda paper: len(paper.content))
    sha256 = factory.LazyAttribute(lambda paper: sha256(paper.content).hexdigest())
    added_by = factory.SubFactory(PersonFactory)
    added_by_name = "R. Pell"
    added_at = PLANNED_START_AT


def dot_on_alignment(rod) -> Point:
    """The place on a bore's alignment to which rods of these lengths and pitches lead; its end past that."""
    before, run_m = rod, 0.0
    while before is not None:
        run_m += before.length_m / hypot(1.0, before.pitch_ratio)
        before = before.after
    alignment = rod.bore.alignment
    return alignment.interpolate_normalized(min(1.0, run_m / ground_length_m(rod.bore)))


class DrilledRodFactory(DjangoModelFactory):
    """A rod of 3 m, level, after another or the first, with its dot on the alignment; it has no entry."""

    class Meta:
        model = DrilledRod

    bore = factory.SubFactory(BoreFactory)
    after = None
    number = factory.LazyAttribute(lambda rod: 1 if rod.after is None else rod.after.number + 1)
    length_m = 3.0
    pitch_ratio = 0.0
    depth_m = 2.0
    dot_longitude_deg = factory.LazyAttribute(lambda rod: dot_on_alignment(rod).x)
    dot_latitude_deg = factory.LazyAttribute(lambda rod: dot_on_alignment(rod).y)
    logged_at = PLANNED_START_AT
    logged_by = factory.SubFactory(PersonFactory)
    logged_by_name = "R. Pell"


class RodWithdrawalFactory(DjangoModelFactory):
    """Rods pulled back; it has no entry."""

    class Meta:
        model = RodWithdrawal

    rod = factory.SubFactory(DrilledRodFactory)
    kind = "pull_back"
    reason = "A cobble turned the head."
    withdrawn_by = factory.SubFactory(PersonFactory)
    withdrawn_by_name = "R. Pell"
    withdrawn_at = PLANNED_START_AT


class LocatorCheckFactory(DjangoModelFactory):
    """The device read 4 cm too deep over a hole of 1.6 m; it has no entry."""

    class Meta:
        model = LocatorCheck

    bore = factory.SubFactory(BoreFactory)
    hole = factory.SubFactory(TestHoleFactory, job=factory.SelfAttribute("..bore.job"))
    device = "receiver 7"
    read_depth_m = 1.64
    measured_depth_m = 1.6
    checked_at = PLANNED_START_AT
    checked_by = factory.SubFactory(PersonFactory)
    checked_by_name = "R. Pell"


class HolePassFactory(DjangoModelFactory):
    """A reamer as wide as the planned hole, through all of the bore; it has no entry."""

    class Meta:
        model = HolePass

    bore = factory.SubFactory(BoreFactory)
    kind = "reaming"
    diameter_m = 0.2
    made_at = PLANNED_START_AT
    logged_at = PLANNED_START_AT
    logged_by = factory.SubFactory(PersonFactory)
    logged_by_name = "R. Pell"


class PullbackFactory(HolePassFactory):
    """Two conduits of 6 cm pulled in; it has no entry."""

    kind = "pullback"
    diameter_m = 0.12
    conduits = factory.LazyFunction(lambda: [[2, 0.06]])


class HolePassWithdrawalFactory(DjangoModelFactory):
    """A pass that was entered wrongly; it has no entry."""

    class Meta:
        model = HolePassWithdrawal

    hole_pass = factory.SubFactory(HolePassFactory)
    reason = "That was another bore."
    withdrawn_by = factory.SubFactory(PersonFactory)
    withdrawn_by_name = "R. Pell"
    withdrawn_at = PLANNED_START_AT


class PhotoFactory(DjangoModelFactory):
    """A photo of a test hole with its facts, of bytes that are no picture; it has no entry."""

    class Meta:
        model = Photo

    job = factory.SubFactory(JobFactory)
    subject_model = "locates.testhole"
    subject_id = factory.LazyFunction(uuid4)
    file_name = "hole.jpg"
    media_type = "image/jpeg"
    content = factory.Sequence(lambda number: f"photo {number}".encode())
    size_bytes = factory.LazyAttribute(lambda photo: len(photo.content))
    sha256 = factory.LazyAttribute(lambda photo: sha256(photo.content).hexdigest())
    width_px = 4000
    height_px = 3000
    thumbnail = b"small"
    thumbnail_sha256 = factory.LazyAttribute(lambda photo: sha256(photo.thumbnail).hexdigest())
    thumbnail_width_px = 400
    thumbnail_height_px = 300
    print_copy = b"middling"
    print_copy_sha256 = factory.LazyAttribute(lambda photo: sha256(photo.print_copy).hexdigest())
    taken_at = MEASURED_AT
    taken_from = "file"
    position = factory.LazyFunction(lambda: point(50, 0))
    position_error_m = 4.5
    position_from = "file"
    kept_at = PLANNED_START_AT
    kept_by = factory.SubFactory(PersonFactory)
    kept_by_name = "R. Pell"


class LedgerEntryFactory(DjangoModelFactory):
    """An entry by itself, of no record and no chain; `locates.desk.ledger.enter` makes those of a chain."""

    class Meta:
        model = LedgerEntry

    sequence = factory.Sequence(lambda number: number + 1)
    kind = "walk"
    record_id = factory.LazyFunction(uuid4)
    job = factory.SubFactory(JobFactory)
    content = "{}"
    content_sha256 = factory.LazyAttribute(lambda entry: sha256(entry.content.encode()).hexdigest())
    previous_sha256 = factory.LazyFunction(lambda: uuid4().hex * 2)
    entry_sha256 = factory.LazyFunction(lambda: uuid4().hex * 2)
    entered_at = PLANNED_START_AT
    entered_by = factory.SubFactory(PersonFactory)


def small_job(**values) -> Job:
    """A job with one of each record: its bore passes 1 m under one exposed gas line, with nothing missing."""
    job = JobFactory(**values)
    operator = FacilityOperatorFactory(job=job)
    ClearanceRequirementFactory(job=job)
    ticket = TicketFactory(job=job)
    ResponseFactory(ticket=ticket, operator=operator)
    mark = MarkFactory(job=job, operator=operator, ticket=ticket)
    TestHoleFactory(job=job, mark=mark, ticket=ticket)
    SurfaceFeatureFactory(job=job, explained_by_mark=mark)
    GroundPointFactory(job=job)
    LineworkFactory(job=job)
    bore = BoreFactory(job=job)
    PitFactory(bore=bore)
    PitFactory(bore=bore, end="exit", area=box(BORE_LENGTH_M, -1, BORE_LENGTH_M + 2, 1))
    return job


def stand_aside(record) -> None:
    """Have one record retired, as the database sees it, and nothing else."""
    type(record).objects.filter(pk=record.pk).update(retired_at=timezone.now())
