"""A family may have a site: the ward, branch or town that looks after it. Those that are there have none yet."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("people", "0040_assign_families_to_members")]

    operations = [
        migrations.AddField(
            model_name="family",
            name="site",
            field=models.CharField(blank=True, default="", max_length=60, verbose_name="site"),
        ),
    ]
