"""Every stored row names its organisation, first in every key and index, so that tables can be split by it."""

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import OuterRef, Subquery

MODELS = ("cachedstanding", "cachedverdict", "cachestate")


def name_the_organisation(apps, schema_editor):
    using = schema_editor.connection.alias
    family = apps.get_model("people", "Family").objects.using(using).filter(pk=OuterRef("family"))
    for name in MODELS:
        rows = apps.get_model("standing", name).objects.using(using)
        rows.update(organisation=Subquery(family.values("organisation")[:1]))


def organisation(**options):
    return models.ForeignKey(
        db_index=False,
        on_delete=django.db.models.deletion.CASCADE,
        related_name="+",
        to="people.organisation",
        **options,
    )


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0040_assign_families_to_members"),
        ("standing", "0004_find_spans_of_an_older_form"),
    ]

    operations = [
        migrations.RemoveConstraint(model_name="cachedstanding", name="cached_standing_starts_once"),
        migrations.RemoveConstraint(model_name="cachedverdict", name="cached_verdict_starts_once"),
        migrations.RemoveIndex(model_name="cachedstanding", name="cached_standing_by_day"),
        migrations.RemoveIndex(model_name="cachestate", name="cache_state_by_form"),
        *[migrations.AddField(name, "organisation", organisation(null=True)) for name in MODELS],
        migrations.RunPython(name_the_organisation, migrations.RunPython.noop),
        *[migrations.AlterField(name, "organisation", organisation()) for name in MODELS],
        migrations.AddIndex(
            model_name="cachedstanding",
            index=models.Index(fields=["organisation", "family", "start"], name="cached_standing_by_day"),
        ),
        migrations.AddIndex(
            model_name="cachestate",
            index=models.Index(fields=["organisation", "form"], name="cache_state_by_form"),
        ),
        migrations.AddConstraint(
            model_name="cachedstanding",
            constraint=models.UniqueConstraint(
                fields=("organisation", "caregiver", "skill", "start"), name="cached_standing_starts_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="cachedverdict",
            constraint=models.UniqueConstraint(
                fields=("organisation", "family", "start"), name="cached_verdict_starts_once"
            ),
        ),
    ]
