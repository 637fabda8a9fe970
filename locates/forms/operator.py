"""The forms of a facility operator and of the clearances that a job demands."""

from typing import Any, ClassVar

from locates.forms.record_form import RecordForm
from locates.models import ClearanceRequirement, FacilityOperator


class OperatorForm(RecordForm):
    """An owner of buried lines, with the number to call if one is damaged."""

    class Meta(RecordForm.Meta):
        """What a person writes of an operator."""

        model = FacilityOperator
        fields = ("name", "emergency_phone", "contact")
        labels: ClassVar = {"emergency_phone": "Emergency number"}
        help_texts: ClassVar = {"emergency_phone": "Whom to call first if a line of theirs is damaged."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["emergency_phone"].widget.input_type = "tel"
        self.fields["contact"].widget.attrs["rows"] = 2


class RequirementForm(RecordForm):
    """The least separation from the lines of an operator, of a type, of both, or from every line."""

    class Meta(RecordForm.Meta):
        """What a person writes of a requirement."""

        model = ClearanceRequirement
        fields = ("operator", "facility_type", "crossing_m", "alongside_m")
        labels: ClassVar = {"crossing_m": "Where crossing", "alongside_m": "Where alongside"}
        help_texts: ClassVar = {
            "operator": "Empty: of every operator.",
            "facility_type": "Empty: of every type.",
            "crossing_m": "From edge to edge, in the worst case.",
            "alongside_m": "From edge to edge, in the worst case.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["operator"].empty_label = "every operator"
        self.fields["facility_type"].choices = [("", "every type"), *self.fields["facility_type"].choices[1:]]
