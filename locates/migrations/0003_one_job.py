"""A record names operators, tickets and marks of its own job only."""

from django.db import migrations

TARGETS = ("locates_facilityoperator", "locates_ticket", "locates_mark")
REFERENCES = (
    ("locates_clearancerequirement", "operator_id", "locates_facilityoperator", "requirement_operator_of_its_job"),
    ("locates_mark", "operator_id", "locates_facilityoperator", "mark_operator_of_its_job"),
    ("locates_mark", "ticket_id", "locates_ticket", "mark_ticket_of_its_job"),
    ("locates_testhole", "mark_id", "locates_mark", "test_hole_mark_of_its_job"),
    ("locates_testhole", "ticket_id", "locates_ticket", "test_hole_ticket_of_its_job"),
    ("locates_surfacefeature", "explained_by_mark_id", "locates_mark", "surface_feature_mark_of_its_job"),
)

# A foreign key over two columns needs a unique pair to point at; it is deferred, as Django's own are.
FORWARD = [f"ALTER TABLE {table} ADD CONSTRAINT {table}_of_a_job UNIQUE (id, job_id)" for table in TARGETS] + [
    f"ALTER TABLE {table} ADD CONSTRAINT {name} FOREIGN KEY ({column}, job_id) "
    f"REFERENCES {target} (id, job_id) DEFERRABLE INITIALLY DEFERRED"
    for table, column, target, name in REFERENCES
]
BACKWARD = [f"ALTER TABLE {table} DROP CONSTRAINT {name}" for table, _, _, name in REFERENCES] + [
    f"ALTER TABLE {table} DROP CONSTRAINT {table}_of_a_job" for table in TARGETS
]


class Migration(migrations.Migration):

    dependencies = [("locates", "0002_seed_jurisdiction_rules")]

    operations = [migrations.RunSQL(FORWARD, BACKWARD)]
