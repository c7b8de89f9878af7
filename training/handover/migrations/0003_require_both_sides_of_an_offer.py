import django.db.models.deletion
from django.db import migrations, models

import training.people.models


class Migration(migrations.Migration):
    dependencies = [("handover", "0002_name_both_sides_of_an_offer")]

    operations = [
        migrations.AlterField(
            "offer",
            "from_organisation",
            models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="offers_made", to="people.organisation"
            ),
        ),
        migrations.AlterField("offer", "from_title", models.CharField(max_length=120)),
        migrations.AlterField("offer", "to_title", models.CharField(max_length=120)),
        migrations.AlterField(
            "offer",
            "time_zone",
            models.CharField(max_length=64, validators=[training.people.models.check_time_zone]),
        ),
    ]
