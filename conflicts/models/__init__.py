"""The records of what the bore does among the lines; one record a file."""

from conflicts.models.assessment import Assessment
from conflicts.models.bore import Bore, ProfileBy
from conflicts.models.camera_inspection import CameraInspection, CameraResult, CameraStage
from conflicts.models.close_out import CloseOut
from conflicts.models.crossing import Crossing, CrossingKind, Passes, Verdict
from conflicts.models.crossing_watch import CrossingWatch, PassMade
from conflicts.models.daily_walk import DailyWalk
from conflicts.models.damage_report import DamageKind, DamageReport
from conflicts.models.drilled_alone_crossing import DrilledAloneCrossing
from conflicts.models.drilled_rod import DrilledRod
from conflicts.models.hole_pass import HolePass, HolePassKind, PassDirection
from conflicts.models.hole_pass_withdrawal import HolePassWithdrawal
from conflicts.models.locator_check import LocatorCheck
from conflicts.models.pit import Pit, PitEnd
from conflicts.models.reassessment import Reassessment
from conflicts.models.record_making import RecordMaking
from conflicts.models.release import Release
from conflicts.models.release_withdrawal import ReleaseWithdrawal
from conflicts.models.rod_withdrawal import RodWithdrawal, WithdrawalKind
from conflicts.models.route_joint import JointHow, RouteJoint
from conflicts.models.variance import CheckCode, Variance, VarianceSubject
from conflicts.models.variance_end import VarianceEnd
from conflicts.models.variance_paper import VariancePaper
from conflicts.models.variance_signature import VarianceSignature

__all__ = [
    "Assessment",
    "Bore",
    "CameraInspection",
    "CameraResult",
    "CameraStage",
    "CheckCode",
    "CloseOut",
    "Crossing",
    "CrossingKind",
    "CrossingWatch",
    "DailyWalk",
    "DamageKind",
    "DamageReport",
    "DrilledAloneCrossing",
    "DrilledRod",
    "HolePass",
    "HolePassKind",
    "HolePassWithdrawal",
    "JointHow",
    "LocatorCheck",
    "PassDirection",
    "PassMade",
    "Passes",
    "Pit",
    "PitEnd",
    "ProfileBy",
    "Reassessment",
    "RecordMaking",
    "Release",
    "ReleaseWithdrawal",
    "RodWithdrawal",
    "RouteJoint",
    "Variance",
    "VarianceEnd",
    "VariancePaper",
    "VarianceSignature",
    "VarianceSubject",
    "Verdict",
    "WithdrawalKind",
]
