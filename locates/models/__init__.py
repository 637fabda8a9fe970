"""The records of what was called in, painted and found; one record a file."""

from locates.models.calendar_feed import CalendarFeed
from locates.models.centre_day import CentreDay
from locates.models.clearance_requirement import ClearanceRequirement
from locates.models.day_review import DayReview
from locates.models.facility import FacilityType
from locates.models.facility_operator import FacilityOperator
from locates.models.follow import Follow
from locates.models.ground_point import GroundPoint
from locates.models.import_work import ImportWork
from locates.models.job import Job, ShowUnits
from locates.models.jurisdiction_rule import JurisdictionRule, ReadingsAgree
from locates.models.ledger_entry import LedgerEntry
from locates.models.linework import Linework, LineworkType
from locates.models.mail_out import MailKind, MailState, OutgoingMail
from locates.models.mark import Mark
from locates.models.membership import Membership, organisation_of
from locates.models.notice import Notice, NoticeEvent
from locates.models.notice_setting import NoticeSetting
from locates.models.organisation import Organisation
from locates.models.paper_file import PaperType
from locates.models.photo import Photo, PhotoType, PositionFrom, TakenFrom
from locates.models.record_event import RecordAction, RecordEvent
from locates.models.response import Response, ResponseKind
from locates.models.response_paper import ResponsePaper
from locates.models.retirement import Retirement
from locates.models.saved_view import BoardList, SavedView
from locates.models.surface_feature import SurfaceFeature, SurfaceFeatureType
from locates.models.test_hole import TestHole
from locates.models.text_reader import TextReader
from locates.models.ticket import Ticket, TicketKind
from locates.models.ticket_matter import TicketMatter, TicketMatterKind
from locates.models.ticket_standing import TicketStanding, TicketState
from locates.models.vector_import import ImportKind, VectorImport

__all__ = [
    "BoardList",
    "CalendarFeed",
    "CentreDay",
    "ClearanceRequirement",
    "DayReview",
    "FacilityOperator",
    "FacilityType",
    "Follow",
    "GroundPoint",
    "ImportKind",
    "ImportWork",
    "Job",
    "JurisdictionRule",
    "LedgerEntry",
    "Linework",
    "LineworkType",
    "MailKind",
    "MailState",
    "Mark",
    "Membership",
    "Notice",
    "NoticeEvent",
    "NoticeSetting",
    "Organisation",
    "OutgoingMail",
    "PaperType",
    "Photo",
    "PhotoType",
    "PositionFrom",
    "ReadingsAgree",
    "RecordAction",
    "RecordEvent",
    "Response",
    "ResponseKind",
    "ResponsePaper",
    "Retirement",
    "SavedView",
    "ShowUnits",
    "SurfaceFeature",
    "SurfaceFeatureType",
    "TakenFrom",
    "TestHole",
    "TextReader",
    "Ticket",
    "TicketKind",
    "TicketMatter",
    "TicketMatterKind",
    "TicketStanding",
    "TicketState",
    "VectorImport",
    "organisation_of",
]
