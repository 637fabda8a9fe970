"""What facility types are called in a picture."""

from conflicts.drawing.profile_lines import FacilityWords
from locates.facility_codes import LETTER_CODES
from locates.models import FacilityType

FACILITY_WORDS = FacilityWords(
    letters={kind.value: letter for kind, letter in LETTER_CODES.items()},
    names=dict(FacilityType.choices),
)
