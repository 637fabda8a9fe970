"""Constraints that several records share: numbers that are numbers, words that are there, sound shapes.

PostgreSQL orders NaN above every number, infinity included, so ``x >= 0`` alone lets NaN through: every bound
here has an upper side that NaN fails.
"""

from math import inf

from django.db.models import BooleanField, CharField, CheckConstraint, F, FloatField, Func, Model, Q
from django.db.models.enums import Choices
from django.db.models.lookups import Exact, GreaterThanOrEqual, In, LessThanOrEqual


def finite(record: str, *fields: str) -> list[CheckConstraint]:
    """Numbers that are neither infinite nor NaN."""
    return [_number(record, name, "finite", Q((f"{name}__gt", -inf)), "a finite number") for name in fields]


def not_negative(record: str, *fields: str) -> list[CheckConstraint]:
    """Finite numbers from zero up."""
    return [
        _number(record, name, "not_negative", Q((f"{name}__gte", 0.0)), "a number, 0 or more")
        for name in fields
    ]


def orders_of(model: type[Model]) -> list[tuple[str, str, bool]]:
    """What `in_order` demands of a record: the earlier field, the later one, whether both may be equal.

    For whoever must know before the database is asked, of many records at a time.
    """
    found = []
    for constraint in model._meta.constraints:
        condition = constraint.condition.children if isinstance(constraint, CheckConstraint) else []
        if len(condition) == 1 and isinstance(condition[0], tuple) and isinstance(condition[0][1], F):
            (lookup, later), *_ = condition
            earlier, _, operator = lookup.rpartition("__")
            found.append((earlier, later.name, operator == "lte"))
    return found


def positive(record: str, *fields: str) -> list[CheckConstraint]:
    """Finite numbers above zero."""
    return [_number(record, name, "positive", Q((f"{name}__gt", 0.0)), "a number above 0") for name in fields]


def written(record: str, *fields: str) -> list[CheckConstraint]:
    """Text that holds more than blanks."""
    return [
        CheckConstraint(
            condition=Q((f"{name}__regex", r"\S")),
            name=f"{record}_{name}_written",
            violation_error_message=f"{name}: accepted is text that is not blank.",
        )
        for name in fields
    ]


def one_of(record: str, field: str, choices: type[Choices], *, blank: bool = False) -> CheckConstraint:
    """One of the listed words, or nothing where ``blank`` allows it."""
    words = ["", *choices.values] if blank else list(choices.values)
    listed = ", ".join(word or "nothing" for word in words)
    return CheckConstraint(
        condition=Q((f"{field}__in", words)),
        name=f"{record}_{field}_known",
        violation_error_message=f"{field}: accepted are {listed}.",
    )


def in_order(record: str, earlier: str, later: str, *, may_equal: bool = True) -> CheckConstraint:
    """Two moments or figures of which the first may not come after the second."""
    lookup = "lte" if may_equal else "lt"
    words = "not after" if may_equal else "before"
    return CheckConstraint(
        condition=Q((f"{earlier}__{lookup}", F(later))),
        name=f"{record}_{earlier}_{words.replace(' ', '_')}_{later}",
        violation_error_message=f"{earlier}: accepted is a value {words} {later}.",
    )


def on_the_globe(record: str, field: str) -> CheckConstraint:
    """A shape with at least one point, every one of them a longitude and a latitude in degrees."""
    return CheckConstraint(
        condition=Q(
            Exact(_flag(field, "ST_IsEmpty"), False),
            GreaterThanOrEqual(_side_deg(field, "ST_XMin"), -180.0),
            LessThanOrEqual(_side_deg(field, "ST_XMax"), 180.0),
            GreaterThanOrEqual(_side_deg(field, "ST_YMin"), -90.0),
            LessThanOrEqual(_side_deg(field, "ST_YMax"), 90.0),
            # The box skips a NaN inside a line; its points, taken one by one, do not.
            Exact(_flag(Func(F(field), function="ST_Points"), "ST_IsValid"), True),
        ),
        name=f"{record}_{field}_on_the_globe",
        violation_error_message=(
            f"{field}: accepted is a shape of points, longitude -180 to 180, latitude -90 to 90 degrees."
        ),
    )


def sound_area(record: str, field: str) -> CheckConstraint:
    """An area whose boundary does not cross itself."""
    return CheckConstraint(
        condition=Q(Exact(_flag(field, "ST_IsValid"), True)),
        name=f"{record}_{field}_sound",
        violation_error_message=f"{field}: accepted is an area whose boundary does not cross itself.",
    )


def shape_is(record: str, field: str, *shapes: str) -> CheckConstraint:
    """A geometry of one of the named types."""
    kind = Func(F(field), function="GeometryType", output_field=CharField())
    return CheckConstraint(
        condition=Q(In(kind, [shape.upper() for shape in shapes])),
        name=f"{record}_{field}_shape",
        violation_error_message=f"{field}: accepted is a {' or a '.join(shapes)}.",
    )


def _number(record: str, field: str, rule: str, lower: Q, accepted: str) -> CheckConstraint:
    return CheckConstraint(
        condition=lower & Q((f"{field}__lt", inf)),
        name=f"{record}_{field}_{rule}",
        violation_error_message=f"{field}: accepted is {accepted}.",
    )


def _flag(field: str | Func, function: str) -> Func:
    source = F(field) if isinstance(field, str) else field
    return Func(source, function=function, output_field=BooleanField())


def _side_deg(field: str, function: str) -> Func:
    return Func(F(field), function=function, output_field=FloatField())
