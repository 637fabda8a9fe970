"""What a buried line carries."""

from django.db.models import TextChoices


class FacilityType(TextChoices):
    """The kinds of buried line, by the APWA uniform colours; unknown where nobody could tell."""

    ELECTRIC = "electric", "electric"
    GAS_OIL_STEAM = "gas_oil_steam", "gas/oil/steam"
    COMMUNICATION = "communication", "communication"
    POTABLE_WATER = "potable_water", "potable water"
    RECLAIMED_WATER = "reclaimed_water", "reclaimed water"
    SEWER_DRAIN = "sewer_drain", "sewer/drain"
    UNKNOWN = "unknown", "unknown"
