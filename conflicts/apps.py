"""Django's configuration of the conflicts app: what the bore does among the lines."""

from django.apps import AppConfig
from django.utils.module_loading import import_string

SIGNED = (
    "CameraInspection",
    "CloseOut",
    "CrossingWatch",
    "DailyWalk",
    "DamageReport",
    "DrilledRod",
    "HolePass",
    "HolePassWithdrawal",
    "LocatorCheck",
    "Release",
    "ReleaseWithdrawal",
    "RodWithdrawal",
    "Variance",
    "VarianceEnd",
    "VariancePaper",
    "VarianceSignature",
)
"""Models of what is signed about a bore."""


class ConflictsConfig(AppConfig):
    """The conflicts app."""

    name = "conflicts"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the bores of every job that changes computed anew; say where they run and what is signed."""
        # By name, since models cannot be imported before every app is there.
        on_job_changed = import_string("locates.changes.on_job_changed")
        on_job_changed(import_string("conflicts.reassess.queue_job"))
        on_landmarks = import_string("locates.landmarks.on_landmarks")
        on_landmarks(import_string("conflicts.bore_landmarks.bore_landmarks"))
        on_stationing = import_string("locates.stationing.on_stationing")
        on_stationing(import_string("conflicts.desk.place_along.BORE_STATIONING"))
        before_bore_changes = import_string("conflicts.models.bore.before_bore_changes")
        before_bore_changes(import_string("conflicts.desk.hold_ground.hold_ground"))
        import_string("conflicts.gate_subjects.make_known")()
        register_signed = import_string("locates.signed_kinds.register_signed")
        for name in SIGNED:
            model = import_string(f"conflicts.models.{name}")
            register_signed(model, model.objects.rows_of)
