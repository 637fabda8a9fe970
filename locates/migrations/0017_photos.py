"""Photos; whoever logs what happened on the ground adds them, and nobody changes them.

All roles see the copies without metadata. What a camera wrote into a file (where the photographer stood, whose
device it was) is opened by those who answer for the record.
"""

import uuid

import django.contrib.gis.db.models.fields
import django.db.models.deletion
import django.db.models.lookups
from django.conf import settings
from django.db import migrations, models

from locates import roles

MAY_ADD = {role: ("photo",) for role in roles.ROLES}
MAY_OPEN_ORIGINALS = (roles.COORDINATOR, roles.SAFETY_MANAGER)


def grant(apps, schema_editor):
    """Let every role add photos, and two of them open the originals."""
    roles.grant(apps, schema_editor, "locates", {}, MAY_ADD)
    database = schema_editor.connection.alias
    permission = apps.get_model("auth", "Permission").objects.using(database).get(codename="open_original_photo")
    for group in apps.get_model("auth", "Group").objects.using(database).filter(name__in=MAY_OPEN_ORIGINALS):
        group.permissions.add(permission)


def take_back(apps, schema_editor):
    """Take the permissions away again; the roles keep those of the other records."""
    permissions = apps.get_model("auth", "Permission").objects.using(schema_editor.connection.alias)
    for permission in permissions.filter(codename__endswith="_photo"):
        permission.group_set.clear()


class Migration(migrations.Migration):

    dependencies = [
        ('locates', '0016_ledger'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Photo',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('subject_model', models.CharField(help_text='Such as locates.testhole.', max_length=100)),
                ('subject_id', models.UUIDField()),
                ('file_name', models.CharField(max_length=200)),
                ('media_type', models.CharField(choices=[('image/jpeg', 'JPEG'), ('image/png', 'PNG'), ('image/webp', 'WebP')], max_length=40)),
                ('size_bytes', models.PositiveIntegerField()),
                ('sha256', models.CharField(max_length=64, verbose_name='SHA-256')),
                ('content', models.BinaryField(help_text='The file as it came.')),
                ('width_px', models.PositiveIntegerField(help_text='As it is shown, turned upright.', verbose_name='width (px)')),
                ('height_px', models.PositiveIntegerField(verbose_name='height (px)')),
                ('thumbnail', models.BinaryField()),
                ('thumbnail_sha256', models.CharField(max_length=64, verbose_name='SHA-256 of the thumbnail')),
                ('thumbnail_width_px', models.PositiveIntegerField(verbose_name='width of the thumbnail (px)')),
                ('thumbnail_height_px', models.PositiveIntegerField(verbose_name='height of the thumbnail (px)')),
                ('print_copy', models.BinaryField()),
                ('print_copy_sha256', models.CharField(max_length=64, verbose_name='SHA-256 of the copy')),
                ('taken_at', models.DateTimeField(blank=True, null=True)),
                ('taken_from', models.CharField(blank=True, choices=[('file', 'the file, with its offset from UTC'), ('camera_clock', 'the clock of the camera, read in the time zone of the job'), ('device', 'the phone, when it told where it is')], max_length=20)),
                ('position', django.contrib.gis.db.models.fields.PointField(blank=True, null=True, srid=4326)),
                ('position_error_m', models.FloatField(blank=True, null=True, verbose_name='the position may be off by (m)')),
                ('position_from', models.CharField(blank=True, choices=[('file', 'the file'), ('device', 'the phone, when somebody had it tell its place')], max_length=10)),
                ('kept_at', models.DateTimeField()),
                ('kept_by_name', models.CharField(help_text='Their name as it was then.', max_length=200)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='locates.job')),
                ('kept_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('kept_at', 'id'),
                'permissions': (('open_original_photo', 'Can open original photos with all that the camera wrote'),),
                'constraints': [models.UniqueConstraint(fields=('subject_model', 'subject_id', 'sha256'), name='photo_once', violation_error_message='sha256: accepted is a photo that the record does not have yet.'), models.CheckConstraint(condition=models.Q(('subject_model__regex', '\\S')), name='photo_subject_model_written', violation_error_message='subject_model: accepted is text that is not blank.'), models.CheckConstraint(condition=models.Q(('file_name__regex', '\\S')), name='photo_file_name_written', violation_error_message='file_name: accepted is text that is not blank.'), models.CheckConstraint(condition=models.Q(('kept_by_name__regex', '\\S')), name='photo_kept_by_name_written', violation_error_message='kept_by_name: accepted is text that is not blank.'), models.CheckConstraint(condition=models.Q(('media_type__in', ['image/jpeg', 'image/png', 'image/webp'])), name='photo_media_type_known', violation_error_message='media_type: accepted are image/jpeg, image/png, image/webp.'), models.CheckConstraint(condition=models.Q(('size_bytes__gt', 0), ('size_bytes__lte', 15728640), django.db.models.lookups.Exact(models.Func(models.F('content'), function='octet_length', output_field=models.IntegerField()), models.F('size_bytes'))), name='photo_size_bytes_counted', violation_error_message='size_bytes: accepted is the number of bytes, above 0 and within the limit.'), models.CheckConstraint(condition=models.Q(django.db.models.lookups.Exact(models.Func(models.Func(models.F('content'), function='sha256', output_field=models.BinaryField()), models.Value('hex', output_field=models.CharField()), function='encode', output_field=models.CharField()), models.F('sha256'))), name='photo_sha256_of_content', violation_error_message='sha256: accepted is the digest of the bytes.'), models.CheckConstraint(condition=models.Q(django.db.models.lookups.Exact(models.Func(models.Func(models.F('thumbnail'), function='sha256', output_field=models.BinaryField()), models.Value('hex', output_field=models.CharField()), function='encode', output_field=models.CharField()), models.F('thumbnail_sha256'))), name='photo_thumbnail_sha256_of_thumbnail', violation_error_message='thumbnail_sha256: accepted is the digest of the bytes.'), models.CheckConstraint(condition=models.Q(django.db.models.lookups.Exact(models.Func(models.Func(models.F('print_copy'), function='sha256', output_field=models.BinaryField()), models.Value('hex', output_field=models.CharField()), function='encode', output_field=models.CharField()), models.F('print_copy_sha256'))), name='photo_print_copy_sha256_of_print_copy', violation_error_message='print_copy_sha256: accepted is the digest of the bytes.'), models.CheckConstraint(condition=models.Q(('width_px__gt', 0)), name='photo_width_px_positive', violation_error_message='width_px: accepted is a whole number above 0.'), models.CheckConstraint(condition=models.Q(('height_px__gt', 0)), name='photo_height_px_positive', violation_error_message='height_px: accepted is a whole number above 0.'), models.CheckConstraint(condition=models.Q(('thumbnail_width_px__gt', 0)), name='photo_thumbnail_width_px_positive', violation_error_message='thumbnail_width_px: accepted is a whole number above 0.'), models.CheckConstraint(condition=models.Q(('thumbnail_height_px__gt', 0)), name='photo_thumbnail_height_px_positive', violation_error_message='thumbnail_height_px: accepted is a whole number above 0.'), models.CheckConstraint(condition=models.Q(models.Q(('taken_at__isnull', True), ('taken_from', '')), models.Q(('taken_at__isnull', False), ('taken_from__in', ['file', 'camera_clock', 'device'])), _connector='OR'), name='photo_taken_at_with_its_source', violation_error_message='taken_from: accepted is who says when, and nothing where unknown.'), models.CheckConstraint(condition=models.Q(models.Q(('position__isnull', True), ('position_error_m__isnull', True), ('position_from', '')), models.Q(('position__isnull', False), ('position_from__in', ['file', 'device'])), _connector='OR'), name='photo_position_with_its_source', violation_error_message='position_from: accepted is who says where, nothing where unknown.'), models.CheckConstraint(condition=models.Q(('position_error_m__gte', 0.0), ('position_error_m__lt', float("inf"))), name='photo_position_error_m_not_negative', violation_error_message='position_error_m: accepted is a number, 0 or more.'), models.CheckConstraint(condition=models.Q(django.db.models.lookups.Exact(models.Func(models.F('position'), function='ST_IsEmpty', output_field=models.BooleanField()), False), django.db.models.lookups.GreaterThanOrEqual(models.Func(models.F('position'), function='ST_XMin', output_field=models.FloatField()), -180.0), django.db.models.lookups.LessThanOrEqual(models.Func(models.F('position'), function='ST_XMax', output_field=models.FloatField()), 180.0), django.db.models.lookups.GreaterThanOrEqual(models.Func(models.F('position'), function='ST_YMin', output_field=models.FloatField()), -90.0), django.db.models.lookups.LessThanOrEqual(models.Func(models.F('position'), function='ST_YMax', output_field=models.FloatField()), 90.0), django.db.models.lookups.Exact(models.Func(models.Func(models.F('position'), function='ST_Points'), function='ST_IsValid', output_field=models.BooleanField()), True)), name='photo_position_on_the_globe', violation_error_message='position: accepted is a shape of points, longitude -180 to 180, latitude -90 to 90 degrees.')],
            },
        ),
        migrations.RunPython(grant, take_back),
    ]
