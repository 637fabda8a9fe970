"""The database itself refuses records that cannot be: every constraint has a case here that breaks it."""

from datetime import timedelta
from math import inf, nan

import pytest
from django.apps import apps
from django.contrib.gis.geos import LineString, MultiPolygon, Point, Polygon
from django.db import DataError, IntegrityError, transaction
from django.db.models import FloatField

from locates.models import RecordEvent
from tests import factories
from tests.rewriting import rewriting_allowed

pytestmark = pytest.mark.django_db

EARLIER = factories.CALLED_AT - timedelta(days=1)
BOW_TIE = Polygon(((0, 0), (1, 1), (1, 0), (0, 1), (0, 0)), srid=4326)
NOWHERE = Point(srid=4326)
OFF_THE_GLOBE = Point(-78.5, 97.0, srid=4326)
FAR_EAST = LineString((179.9, 38.0), (180.1, 38.0), srid=4326)
NAN_VERTEX = LineString((-78.5, 38.0), (nan, 38.0), (-78.4, 38.0), srid=4326)


def last_event():
    """What a trigger writes when a mark is added."""
    mark = factories.MarkFactory()
    return RecordEvent.objects.filter(record_id=mark.pk).latest("id")


FACTORIES = {
    "record_event": last_event,
    "organisation": factories.OrganisationFactory,
    "membership": factories.MembershipFactory,
    "jurisdiction_rule": factories.JurisdictionRuleFactory,
    "own_rule": factories.OwnRuleFactory,
    "centre_day": factories.CentreDayFactory,
    "job": factories.JobFactory,
    "operator": factories.FacilityOperatorFactory,
    "requirement": factories.ClearanceRequirementFactory,
    "ticket": factories.TicketFactory,
    "response": factories.ResponseFactory,
    "response_paper": factories.ResponsePaperFactory,
    "ticket_standing": factories.TicketStandingFactory,
    "ticket_matter": factories.TicketMatterFactory,
    "saved_view": factories.SavedViewFactory,
    "text_reader": factories.TextReaderFactory,
    "mark": factories.MarkFactory,
    "test_hole": factories.TestHoleFactory,
    "surface_feature": factories.SurfaceFeatureFactory,
    "ground_point": factories.GroundPointFactory,
    "linework": factories.LineworkFactory,
    "vector_import": factories.VectorImportFactory,
    "import_work": factories.ImportWorkFactory,
    "follow": factories.FollowFactory,
    "follow_job": factories.JobFollowFactory,
    "notice": factories.NoticeFactory,
    "notice_of_mark": factories.MarkNoticeFactory,
    "notice_setting": factories.NoticeSettingFactory,
    "outgoing_mail": factories.OutgoingMailFactory,
    "calendar_feed": factories.CalendarFeedFactory,
    "ledger_entry": factories.LedgerEntryFactory,
    "photo": factories.PhotoFactory,
}

# Constraint, record, what is written over a valid record.
REFUSED = [
    ("record_event_action_has_its_sides", "record_event", {"before": {}}),
    ("organisation_name_written", "organisation", {"name": "  "}),
    ("organisation_desk_lead_hours_bounded", "organisation", {"desk_lead_hours": 2161}),
    ("jurisdiction_rule_code_written", "jurisdiction_rule", {"code": ""}),
    ("jurisdiction_rule_tolerance_zone_m_not_negative", "jurisdiction_rule", {"tolerance_zone_m": -0.01}),
    ("jurisdiction_rule_readings_agree_known", "jurisdiction_rule", {"readings_agree": "maybe"}),
    ("jurisdiction_rule_version_from_one", "jurisdiction_rule", {"version": 0}),
    ("jurisdiction_rule_sure_of_a_width_read_twice", "jurisdiction_rule", {"readings_agree": "no"}),
    ("jurisdiction_rule_sure_of_a_width_read_twice", "jurisdiction_rule", {"tolerance_zone_m": None}),
    ("jurisdiction_rule_own_is_cited", "own_rule", {"citation": " "}),
    ("jurisdiction_rule_shipped_is_not_retired", "jurisdiction_rule", {"retired_at": factories.CALLED_AT}),
    ("centre_day_code_written", "centre_day", {"code": " "}),
    ("centre_day_words_written", "centre_day", {"words": ""}),
    ("job_name_written", "job", {"name": "\t"}),
    ("job_time_zone_written", "job", {"time_zone": ""}),
    ("job_mean_height_m_finite", "job", {"mean_height_m": nan}),
    ("job_tolerance_zone_m_not_negative", "job", {"tolerance_zone_m": -1.0}),
    ("job_expose_reach_m_not_negative", "job", {"expose_reach_m": -1.0}),
    ("job_test_hole_spacing_m_positive", "job", {"test_hole_spacing_m": 0.0}),
    ("job_bore_horizontal_m_not_negative", "job", {"bore_horizontal_m": -0.1}),
    ("job_bore_vertical_m_not_negative", "job", {"bore_vertical_m": -0.1}),
    ("job_drilled_fixed_m_not_negative", "job", {"drilled_fixed_m": -0.1}),
    ("job_drilled_depth_ratio_not_negative", "job", {"drilled_depth_ratio": -0.1}),
    ("job_test_hole_m_not_negative", "job", {"test_hole_m": -0.1}),
    ("job_slope_ratio_not_negative", "job", {"slope_ratio": -0.1}),
    ("job_show_units_known", "job", {"show_units": "furlongs"}),
    ("job_default_outside_m_sound", "job", {"default_outside_m": {"electric": 0}}),
    ("job_default_outside_m_sound", "job", {"default_outside_m": {"electric": "0.1"}}),
    ("job_default_outside_m_sound", "job", {"default_outside_m": {"electric": None}}),
    ("job_default_outside_m_sound", "job", {"default_outside_m": {"pneumatic": 0.1}}),
    ("job_default_outside_m_sound", "job", {"default_outside_m": [0.1]}),
    ("operator_name_written", "operator", {"name": ""}),
    ("requirement_crossing_m_not_negative", "requirement", {"crossing_m": -0.1}),
    ("requirement_alongside_m_not_negative", "requirement", {"alongside_m": -0.1}),
    ("requirement_facility_type_known", "requirement", {"facility_type": "pneumatic"}),
    ("ticket_number_written", "ticket", {"number": ""}),
    ("ticket_ticket_kind_known", "ticket", {"ticket_kind": "casual"}),
    ("ticket_called_at_not_after_legal_start_at", "ticket", {"legal_start_at": EARLIER}),
    ("ticket_called_at_before_expires_at", "ticket", {"legal_start_at": None, "expires_at": EARLIER}),
    ("ticket_legal_start_at_before_expires_at", "ticket", {"expires_at": factories.LEGAL_START_AT}),
    ("ticket_called_at_not_after_wanted_start_at", "ticket", {"wanted_start_at": EARLIER}),
    ("ticket_called_at_not_after_response_due_at", "ticket", {"response_due_at": EARLIER}),
    (
        "ticket_called_at_not_after_latest_start_at",
        "ticket",
        {"legal_start_at": None, "latest_start_at": EARLIER},
    ),
    (
        "ticket_legal_start_at_not_after_latest_start_at",
        "ticket",
        {"latest_start_at": factories.LEGAL_START_AT - timedelta(minutes=1)},
    ),
    (
        "ticket_latest_start_at_not_after_expires_at",
        "ticket",
        {"latest_start_at": factories.EXPIRES_AT + timedelta(minutes=1)},
    ),
    ("ticket_called_at_not_after_renew_by", "ticket", {"renew_by": EARLIER}),
    ("ticket_renew_by_not_after_expires_at", "ticket", {"renew_by": factories.EXPIRES_AT + timedelta(1)}),
    ("ticket_called_at_not_after_work_finished_at", "ticket", {"work_finished_at": EARLIER}),
    ("ticket_stated_depth_m_positive", "ticket", {"stated_depth_m": 0.0}),
    ("ticket_stated_depth_m_positive", "ticket", {"stated_depth_m": nan}),
    ("ticket_work_finished_by_has_a_moment", "ticket", {"work_finished_by": 1}),
    ("ticket_computed_dates_have_a_rule", "ticket", {"computed_dates": {"expires_at": {}}}),
    ("ticket_area_on_the_globe", "ticket", {"area": MultiPolygon(srid=4326)}),
    ("ticket_area_sound", "ticket", {"area": MultiPolygon(BOW_TIE, srid=4326)}),
    ("response_response_known", "response", {"response": "perhaps"}),
    ("response_paper_file_name_written", "response_paper", {"file_name": " "}),
    ("response_paper_media_type_known", "response_paper", {"media_type": "text/html"}),
    ("response_paper_size_bytes_counted", "response_paper", {"size_bytes": 5}),
    ("response_paper_sha256_of_content", "response_paper", {"sha256": "0" * 64}),
    ("ticket_standing_state_known", "ticket_standing", {"state": "lost"}),
    ("ticket_standing_awaited_are_named", "ticket_standing", {"awaited_count": 3}),
    ("ticket_standing_overdue_are_awaited", "ticket_standing", {"overdue_count": 2}),
    ("ticket_matter_matter_known", "ticket_matter", {"matter": "rain"}),
    ("saved_view_name_written", "saved_view", {"name": " "}),
    ("saved_view_board_list_known", "saved_view", {"board_list": "rain"}),
    ("text_reader_name_written", "text_reader", {"name": ""}),
    ("mark_ref_written", "mark", {"ref": " "}),
    ("mark_facility_type_known", "mark", {"facility_type": ""}),
    ("mark_stated_width_m_positive", "mark", {"stated_width_m": 0.0}),
    ("mark_stated_height_m_positive", "mark", {"stated_height_m": -0.2}),
    ("mark_stated_depth_m_not_negative", "mark", {"stated_depth_m": -0.2}),
    ("mark_horizontal_accuracy_m_not_negative", "mark", {"horizontal_accuracy_m": -0.2}),
    ("mark_marked_at_not_after_re_marked_at", "mark", {"re_marked_at": EARLIER}),
    ("mark_geometry_shape", "mark", {"geometry": factories.box(0, 0, 1, 1)}),
    ("mark_geometry_on_the_globe", "mark", {"geometry": FAR_EAST}),
    ("mark_geometry_on_the_globe", "mark", {"geometry": NOWHERE}),
    ("mark_geometry_on_the_globe", "mark", {"geometry": NAN_VERTEX}),
    ("test_hole_ref_written", "test_hole", {"ref": ""}),
    ("test_hole_found_has_depth_to_top_m", "test_hole", {"depth_to_top_m": None}),
    ("test_hole_not_found_has_dug_depth_m", "test_hole", {"found": False}),
    ("test_hole_depth_to_top_m_not_negative", "test_hole", {"depth_to_top_m": -0.1}),
    ("test_hole_dug_depth_m_not_negative", "test_hole", {"dug_depth_m": -0.1}),
    ("test_hole_error_m_not_negative", "test_hole", {"error_m": -0.1}),
    ("test_hole_outside_width_m_positive", "test_hole", {"outside_width_m": 0.0}),
    ("test_hole_outside_height_m_positive", "test_hole", {"outside_height_m": 0.0}),
    ("test_hole_ground_elevation_m_finite", "test_hole", {"ground_elevation_m": inf}),
    ("test_hole_position_on_the_globe", "test_hole", {"position": OFF_THE_GLOBE}),
    ("surface_feature_ref_written", "surface_feature", {"ref": ""}),
    ("surface_feature_feature_type_known", "surface_feature", {"feature_type": "kerb"}),
    ("surface_feature_facility_type_known", "surface_feature", {"facility_type": "pneumatic"}),
    ("surface_feature_position_on_the_globe", "surface_feature", {"position": OFF_THE_GLOBE}),
    ("surface_feature_error_m_not_negative", "surface_feature", {"error_m": -0.1}),
    ("ground_point_elevation_m_finite", "ground_point", {"elevation_m": -inf}),
    ("ground_point_position_on_the_globe", "ground_point", {"position": NOWHERE}),
    ("linework_feature_type_known", "linework", {"feature_type": "moat"}),
    ("linework_geometry_shape", "linework", {"geometry": factories.point(0, 0)}),
    ("linework_geometry_on_the_globe", "linework", {"geometry": FAR_EAST}),
    ("vector_import_kind_known", "vector_import", {"kind": "bore"}),
    ("vector_import_stored_is_counted", "vector_import", {"stored_at": factories.MARKED_AT}),
    ("vector_import_stored_is_counted", "vector_import", {"stored_count": 3}),
    ("import_work_kind_known", "import_work", {"kind": "guess"}),
    ("import_work_state_known", "import_work", {"state": "lost"}),
    ("import_work_failure_told", "import_work", {"state": "given up"}),
    ("import_work_done_at_a_moment", "import_work", {"state": "done"}),
    ("import_work_done_at_a_moment", "import_work", {"finished_at": factories.MARKED_AT}),
    ("follow_job_or_ticket", "follow", {"ticket": None}),
    ("notice_names_its_thing", "notice", {"ticket": None}),
    ("notice_names_its_thing", "notice", {"event": "mark_gone"}),
    ("notice_event_known", "notice", {"event": "rain"}),
    ("notice_setting_digest_hour_of_a_day", "notice_setting", {"digest_hour": 24}),
    ("outgoing_mail_to_address_written", "outgoing_mail", {"to_address": " "}),
    ("outgoing_mail_subject_written", "outgoing_mail", {"subject": ""}),
    ("outgoing_mail_body_written", "outgoing_mail", {"body": "\n"}),
    ("outgoing_mail_kind_known", "outgoing_mail", {"kind": "letter", "digest_on": None}),
    ("outgoing_mail_state_known", "outgoing_mail", {"state": "lost"}),
    ("outgoing_mail_sent_has_sent_at", "outgoing_mail", {"state": "sent"}),
    ("outgoing_mail_digest_has_its_day", "outgoing_mail", {"digest_on": None}),
    ("photo_subject_model_written", "photo", {"subject_model": " "}),
    ("photo_file_name_written", "photo", {"file_name": ""}),
    ("photo_kept_by_name_written", "photo", {"kept_by_name": "\n"}),
    ("photo_media_type_known", "photo", {"media_type": "image/svg+xml"}),
    ("photo_size_bytes_counted", "photo", {"size_bytes": 1}),
    ("photo_sha256_of_content", "photo", {"sha256": factories.DIGEST}),
    ("photo_thumbnail_sha256_of_thumbnail", "photo", {"thumbnail": b"another"}),
    ("photo_print_copy_sha256_of_print_copy", "photo", {"print_copy": b"another"}),
    ("photo_width_px_positive", "photo", {"width_px": 0}),
    ("photo_height_px_positive", "photo", {"height_px": 0}),
    ("photo_thumbnail_width_px_positive", "photo", {"thumbnail_width_px": 0}),
    ("photo_thumbnail_height_px_positive", "photo", {"thumbnail_height_px": 0}),
    ("photo_taken_at_with_its_source", "photo", {"taken_at": None}),
    ("photo_taken_at_with_its_source", "photo", {"taken_from": ""}),
    ("photo_position_with_its_source", "photo", {"position": None}),
    ("photo_position_with_its_source", "photo", {"position_from": ""}),
    ("photo_position_error_m_not_negative", "photo", {"position_error_m": nan}),
    ("photo_position_error_m_not_negative", "photo", {"position_error_m": -1.0}),
    ("photo_position_on_the_globe", "photo", {"position": OFF_THE_GLOBE}),
    ("photo_position_on_the_globe", "photo", {"position": NOWHERE}),
]

# Constraint, record that is only ever added, with what it is added.
NOT_ADDED = [
    ("ledger_entry_sequence_from_one", "ledger_entry", {"sequence": 0}),
    ("ledger_entry_kind_written", "ledger_entry", {"kind": " "}),
    ("ledger_entry_content_sha256_of_content", "ledger_entry", {"content_sha256": "0" * 64}),
    ("ledger_entry_previous_sha256_is_a_digest", "ledger_entry", {"previous_sha256": "F" * 64}),
    ("ledger_entry_entry_sha256_is_a_digest", "ledger_entry", {"entry_sha256": "f" * 63}),
]

# Constraint, record, what its double shares with it.
DOUBLED = [
    ("locates_organisation_name_key", "organisation", ("name",)),
    ("locates_membership_user_id_key", "membership", ("user",)),
    ("jurisdiction_rule_version_once", "jurisdiction_rule", ("organisation", "code", "version")),
    ("jurisdiction_rule_version_once", "own_rule", ("organisation", "code", "version")),
    ("centre_day_once", "centre_day", ("organisation", "code", "day")),
    ("job_name_once", "job", ("organisation", "name")),
    ("operator_name_once", "operator", ("job", "name")),
    ("requirement_once_a_type", "requirement", ("job", "facility_type")),
    ("ticket_number_once", "ticket", ("job", "number")),
    ("response_sequence_once", "response", ("ticket", "sequence")),
    ("response_paper_once", "response_paper", ("response", "sha256")),
    ("ticket_matter_once", "ticket_matter", ("ticket", "matter")),
    ("saved_view_name_once", "saved_view", ("user", "name")),
    ("text_reader_name_once", "text_reader", ("organisation", "name")),
    ("mark_ref_once", "mark", ("job", "ref")),
    ("test_hole_ref_once", "test_hole", ("job", "ref")),
    ("surface_feature_ref_once", "surface_feature", ("job", "ref")),
    ("follow_ticket_once", "follow", ("person", "ticket")),
    ("follow_job_once", "follow_job", ("person", "job")),
    ("notice_of_ticket_once", "notice", ("person", "ticket", "event", "due_at")),
    ("notice_of_mark_once", "notice_of_mark", ("person", "mark", "event", "due_at")),
    ("outgoing_mail_digest_once_a_day", "outgoing_mail", ("person", "digest_on")),
    ("calendar_feed_one_in_use", "calendar_feed", ("person",)),
    ("photo_once", "photo", ("subject_model", "subject_id", "content")),
    ("locates_ledgerentry_pkey", "ledger_entry", ("sequence",)),
    ("ledger_entry_record_once", "ledger_entry", ("kind", "record_id")),
    ("locates_ledgerentry_previous_sha256_key", "ledger_entry", ("previous_sha256",)),
    ("locates_ledgerentry_entry_sha256_key", "ledger_entry", ("entry_sha256",)),
]

# Constraints that Django declares on a field and not in a model's Meta.
OF_FIELDS = {
    "locates_organisation_name_key",
    "locates_membership_user_id_key",
    "locates_ledgerentry_pkey",
    "locates_ledgerentry_previous_sha256_key",
    "locates_ledgerentry_entry_sha256_key",
}

NUMBERS = [
    (record, field.name)
    for record, factory in FACTORIES.items()
    if factory is not last_event  # it has no number that people write
    for field in factory._meta.model._meta.fields
    if isinstance(field, FloatField)
]


def refusal(action, error=IntegrityError):
    """The words in which the database refuses."""
    with pytest.raises(error) as caught, transaction.atomic():
        action()
    return str(caught.value)


def overwrite(record, values):
    """Write over a record in SQL, past every form and every validation, a signed one too."""
    with rewriting_allowed():
        type(record).objects.filter(pk=record.pk).update(**values)


@pytest.mark.parametrize(("constraint", "name", "values"), REFUSED)
def test_the_database_refuses(constraint, name, values):
    record = FACTORIES[name]()
    assert f'"{constraint}"' in refusal(lambda: overwrite(record, values))


@pytest.mark.parametrize(("constraint", "name", "values"), NOT_ADDED)
def test_the_database_refuses_to_add(constraint, name, values):
    assert f'"{constraint}"' in refusal(lambda: FACTORIES[name](**values))


@pytest.mark.parametrize(("constraint", "name", "shared"), DOUBLED)
def test_the_database_refuses_a_double(constraint, name, shared):
    record = FACTORIES[name]()
    values = {field: getattr(record, field) for field in shared}
    assert f'"{constraint}' in refusal(lambda: FACTORIES[name](**values))


def test_an_operator_has_one_requirement_a_type():
    job = factories.JobFactory()
    operator = factories.FacilityOperatorFactory(job=job)
    values = {"job": job, "operator": operator, "facility_type": "electric"}
    factories.ClearanceRequirementFactory(**values)
    assert '"requirement_once_an_operator"' in refusal(
        lambda: factories.ClearanceRequirementFactory(**values)
    )


@pytest.mark.parametrize("number", [nan, inf, -inf])
@pytest.mark.parametrize(("name", "field"), NUMBERS)
def test_no_number_may_be_infinite_or_nan(name, field, number):
    record = FACTORIES[name]()
    assert f"_{field}_" in refusal(lambda: overwrite(record, {field: number}))


def test_a_mark_with_heights_is_refused_by_its_column():
    record = factories.MarkFactory()
    with_heights = LineString((-78.5, 38.0, 1.0), (-78.4, 38.0, 1.0), srid=4326)
    assert "Z dimension" in refusal(lambda: overwrite(record, {"geometry": with_heights}), DataError)


def test_every_constraint_of_the_app_has_a_case_here():
    declared = {
        constraint.name
        for model in apps.get_app_config("locates").get_models()
        for constraint in model._meta.constraints
    }
    broken = {case[0] for case in REFUSED + NOT_ADDED + DOUBLED} | {"requirement_once_an_operator"}
    assert declared == broken - OF_FIELDS


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("job", {"tolerance_zone_m": 0.0, "mean_height_m": -28.0, "default_outside_m": {"unknown": 0.05}}),
        ("requirement", {"crossing_m": 0.0, "alongside_m": 0.0}),
        ("ticket", {"legal_start_at": factories.CALLED_AT, "ticket_kind": "emergency"}),
        ("ticket", {"legal_start_at": None, "expires_at": None}),
        ("ticket", {"renew_by": factories.EXPIRES_AT, "latest_start_at": factories.EXPIRES_AT}),
        ("organisation", {"desk_lead_hours": 2160}),
        ("own_rule", {"retired_at": factories.CALLED_AT}),
        ("own_rule", {"code": "VA", "version": 1}),
        ("ticket_standing", {"awaited_count": 2, "overdue_count": 2}),
        ("mark", {"stated_depth_m": 0.0, "re_marked_at": factories.MARKED_AT}),
        ("mark", {"geometry": factories.point(50, 0)}),
        ("mark", {"geometry": LineString((180.0, 38.0), (-179.9999, 38.0), srid=4326)}),
        ("test_hole", {"found": False, "depth_to_top_m": None, "dug_depth_m": 0.0}),
        ("surface_feature", {"error_m": 0.0}),
        ("ground_point", {"elevation_m": -3.5}),
        ("linework", {"geometry": factories.box(0, 0, 5, 5)}),
        ("vector_import", {"content": b"paint", "stored_at": factories.MARKED_AT, "stored_count": 0}),
    ],
)
def test_the_database_takes_what_lies_on_the_bound(name, values):
    record = FACTORIES[name]()
    overwrite(record, values)
    record.refresh_from_db()
    record.full_clean()
