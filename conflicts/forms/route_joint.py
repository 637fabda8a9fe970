"""The form of a joint of the route: two ends of bores, and how the conduit goes from one to the other."""

from typing import Any, ClassVar

from django.db.models import Q

from conflicts.models import JointHow, RouteJoint
from locates.forms.record_form import RecordForm


class RouteJointForm(RecordForm):
    """Two ends of two bores, and through what they are joined, or that they are not."""

    groups = (
        ("The ends", ("first_bore", "first_end", "second_bore", "second_end")),
        ("What is between them", ("how", "note")),
    )

    class Meta(RecordForm.Meta):
        """What a person writes of a joint."""

        model = RouteJoint
        fields = ("first_bore", "first_end", "second_bore", "second_end", "how", "note")
        labels: ClassVar = {
            "first_bore": "Bore",
            "first_end": "Its end",
            "second_bore": "Goes on with bore",
            "second_end": "At its end",
            "how": "How they are joined",
            "note": "Note",
        }
        help_texts: ClassVar = {
            "how": "This goes before what the places of ends and pits say. Ends that only lie together are "
            "not joined."
        }

    def clean(self) -> dict[str, Any]:
        """Refuse an end that is stated to be joined elsewhere, and two ends of which something is stated."""
        cleaned = super().clean()
        ends = [(cleaned.get(f"{which}_bore"), cleaned.get(f"{which}_end")) for which in ("first", "second")]
        if not all(bore and end for bore, end in ends) or not cleaned.get("how"):
            return cleaned
        others = RouteJoint.objects.filter(job=self.job).exclude(pk=self.instance.pk)
        first, second = (_at(*end) for end in ends)
        if others.filter(first & second).exists():
            self.add_error("second_end", "Accepted are two ends of which nothing is stated yet.")
        elif cleaned["how"] != JointHow.APART:
            joined = others.exclude(how=JointHow.APART).select_related("first_bore", "second_bore")
            for which, at in (("first", first), ("second", second)):
                there = joined.filter(at).first()
                if there is not None:
                    told = f"This end is stated to be joined already: {there}. Change that joint first."
                    self.add_error(f"{which}_end", told)
        return cleaned


def _at(bore: Any, end: str) -> Q:
    return Q(first_bore=bore, first_end=end) | Q(second_bore=bore, second_end=end)
