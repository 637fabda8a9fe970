"""The letter that stands for a facility type wherever its colour is used: colour never says it alone."""

from locates.models import FacilityType

LETTER_CODES = {
    FacilityType.ELECTRIC: "E",
    FacilityType.GAS_OIL_STEAM: "G",
    FacilityType.COMMUNICATION: "C",
    FacilityType.POTABLE_WATER: "W",
    FacilityType.RECLAIMED_WATER: "R",
    FacilityType.SEWER_DRAIN: "S",
    FacilityType.UNKNOWN: "U",
}
