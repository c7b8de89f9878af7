from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0011_write_user_names_one_way"),
    ]

    operations = [
        migrations.AddField(
            model_name="family",
            name="closed_on",
            field=models.DateField(blank=True, null=True, verbose_name="closed on"),
        ),
        migrations.AddField(
            model_name="family",
            name="closed_why",
            field=models.CharField(
                blank=True,
                choices=[
                    ("gone_home", "gone home"),
                    ("moved", "moved away"),
                    ("recovered", "recovered"),
                    ("died", "died"),
                ],
                max_length=10,
                verbose_name="why it is closed",
            ),
        ),
        migrations.AddField(
            model_name="family",
            name="handed_over_on",
            field=models.DateField(blank=True, null=True, verbose_name="handed over on"),
        ),
        migrations.AddField(
            model_name="family",
            name="handed_over_to",
            field=models.CharField(blank=True, max_length=120, verbose_name="handed over to"),
        ),
        migrations.AddConstraint(
            model_name="family",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("closed_on", None), ("closed_why", "")),
                    models.Q(("closed_on__isnull", False), models.Q(("closed_why", ""), _negated=True)),
                    _connector="OR",
                ),
                name="family_closed_with_a_reason",
            ),
        ),
    ]
