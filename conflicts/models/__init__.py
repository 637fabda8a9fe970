"""The records of what the bore does among the lines; one record a file."""

from conflicts.models.assessment import Assessment
from conflicts.models.bore import Bore, ProfileBy
from conflicts.models.crossing import Crossing, CrossingKind, Passes, Verdict
from conflicts.models.daily_walk import DailyWalk
from conflicts.models.pit import Pit, PitEnd
from conflicts.models.reassessment import Reassessment
from conflicts.models.record_making import RecordMaking

__all__ = [
    "Assessment",
    "Bore",
    "Crossing",
    "CrossingKind",
    "DailyWalk",
    "Passes",
    "Pit",
    "PitEnd",
    "ProfileBy",
    "Reassessment",
    "RecordMaking",
    "Verdict",
]
