"""A rod that was drilled, with what the locating device read at its end."""

from math import tau
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.urls import reverse

from conflicts.models.bore import Bore
from conflicts.models.signed import SignedRecord, name_then, signer
from locates.models.bounds import finite, not_negative, positive, written


class DrilledRod(SignedRecord):
    """One rod of the as-drilled log: stored once and never changed.

    ``after`` is the rod that it was joined to, none for the first from the entry: so a re-drill from rod 5
    has a second rod 6, and the rods that were pulled back stay where they were. Which rods are in the ground
    is worked out from withdrawals (`RodWithdrawal`), never stored here.
    """

    LEDGER_KIND: ClassVar[str] = "rod"
    SIGNER: ClassVar[str] = "logged_by"
    LATER_COLUMNS: ClassVar[tuple[str, ...]] = ("met",)

    bore = models.ForeignKey(Bore, on_delete=models.PROTECT, related_name="drilled_rods")
    after = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="followed_by"
    )
    number = models.PositiveIntegerField("rod, counted from the entry")
    length_m = models.FloatField("length drilled since the rod before (m)")
    pitch_ratio = models.FloatField("pitch, down is negative")
    depth_m = models.FloatField("depth read, ground to the antenna (m)", null=True, blank=True)
    roll_rad = models.FloatField("roll, clockwise from 12 o'clock", null=True, blank=True)
    heading_rad = models.FloatField("heading, clockwise from north", null=True, blank=True)
    dot_longitude_deg = models.FloatField("dot, longitude", null=True, blank=True)
    dot_latitude_deg = models.FloatField("dot, latitude", null=True, blank=True)
    dot_station_m = models.FloatField(
        "dot, station (m)", null=True, blank=True, help_text="As it was measured along the alignment of then."
    )
    dot_offset_m = models.FloatField("dot, right of the alignment (m)", null=True, blank=True)
    dot_error_m = models.FloatField(
        "dot, how far off (m)", null=True, blank=True, help_text="As its source states it; none is unknown."
    )
    confirmed = models.JSONField(
        "confirmed oddities",
        default=list,
        blank=True,
        help_text="What was asked about this reading, and kept.",
    )
    met = models.JSONField(
        "lines met",
        null=True,
        blank=True,
        help_text="Those that it came to, as they were recorded then; none is not kept.",
    )
    remarks = models.TextField(blank=True)
    logged_by = signer("logged")
    logged_by_name = name_then("logged")
    logged_at = models.DateTimeField()

    class Meta:
        """How rods are ordered and bounded."""

        ordering = ("bore_id", "logged_at", "entered_at", "id")
        constraints = (
            *positive("rod", "length_m"),
            *not_negative("rod", "depth_m", "dot_error_m"),
            *finite("rod", "pitch_ratio", "dot_station_m", "dot_offset_m"),
            *written("rod", "logged_by_name"),
            models.CheckConstraint(
                condition=Q(number=1, after__isnull=True) | Q(number__gt=1, after__isnull=False),
                name="rod_first_follows_none",
                violation_error_message="after: accepted is none for rod 1, else the rod before.",
            ),
            *(
                models.CheckConstraint(
                    condition=Q((f"{name}__gte", 0.0), (f"{name}__lt", tau)),
                    name=f"rod_{name}_in_a_turn",
                    violation_error_message=f"{name}: accepted is an angle from 0 to below a full turn.",
                )
                for name in ("roll_rad", "heading_rad")
            ),
            models.CheckConstraint(
                condition=(
                    Q(
                        dot_longitude_deg__isnull=True,
                        dot_latitude_deg__isnull=True,
                        dot_station_m__isnull=True,
                        dot_offset_m__isnull=True,
                        dot_error_m__isnull=True,
                    )
                    | Q(
                        dot_longitude_deg__isnull=False,
                        dot_latitude_deg__isnull=False,
                        dot_longitude_deg__gte=-180.0,
                        dot_longitude_deg__lte=180.0,
                        dot_latitude_deg__gte=-90.0,
                        dot_latitude_deg__lte=90.0,
                    )
                ),
                name="rod_dot_has_a_place",
                violation_error_message="dot: accepted are a longitude and a latitude, or nothing of a dot.",
            ),
            models.CheckConstraint(
                condition=Q(dot_station_m__isnull=True, dot_offset_m__isnull=True)
                | Q(dot_station_m__isnull=False, dot_offset_m__isnull=False),
                name="rod_dot_station_with_offset",
                violation_error_message="dot_station_m: accepted is a station with an offset, or neither.",
            ),
        )

    def __str__(self) -> str:
        """Which rod."""
        return f"rod {self.number}"

    def get_absolute_url(self) -> str:
        """The page of the bore's rods."""
        return reverse("conflicts:rods", args=[self.bore_id])
