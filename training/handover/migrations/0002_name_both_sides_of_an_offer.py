"""Each side of an offer sees its own rows alone, so what it needs to know of the other side stands in the offer."""

import django.db.models.deletion
from django.db import migrations, models


def fill(apps, schema_editor):
    for offer in apps.get_model("handover", "Offer").objects.select_related("family__organisation", "to"):
        offer.from_organisation = offer.family.organisation
        offer.from_title, offer.to_title = offer.family.organisation.title, offer.to.title
        offer.time_zone = offer.family.time_zone
        offer.save(update_fields=["from_organisation", "from_title", "to_title", "time_zone"])


def organisation(**kwargs):
    return models.ForeignKey(
        on_delete=django.db.models.deletion.PROTECT,
        related_name="offers_made",
        to="people.organisation",
        **kwargs,
    )


class Migration(migrations.Migration):
    dependencies = [("handover", "0001_add_offers_and_codes")]

    operations = [
        migrations.AddField("offer", "from_organisation", organisation(null=True)),
        migrations.AddField("offer", "from_title", models.CharField(default="", max_length=120)),
        migrations.AddField("offer", "to_title", models.CharField(default="", max_length=120)),
        migrations.AddField("offer", "time_zone", models.CharField(default="UTC", max_length=64)),
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
