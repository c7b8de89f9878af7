import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0001_initial"),
    ]

    operations = [
        migrations.AddField(
            model_name="organisation",
            name="second_factor_required",
            field=models.BooleanField(default=False, verbose_name="a second factor is required of members"),
        ),
        migrations.AddField(
            model_name="user",
            name="is_role_account",
            field=models.BooleanField(
                default=False,
                help_text="Used by several people to read on; nobody signs with it.",
                verbose_name="role account",
            ),
        ),
        migrations.AddField(
            model_name="user",
            name="session_round",
            field=models.PositiveIntegerField(default=0, editable=False),
        ),
        migrations.CreateModel(
            name="AccountEntry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("unlocked", "a lock lifted"),
                            ("reset", "a link to set a new password given"),
                            ("second_factor", "the second factor taken off"),
                            ("closed", "the account closed"),
                            ("reopened", "the account opened again"),
                        ],
                        max_length=15,
                    ),
                ),
                ("because", models.CharField(max_length=300)),
                ("by_name", models.CharField(max_length=200)),
                ("at", models.DateTimeField()),
                (
                    "organisation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="people.organisation"
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="account_entries",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-pk"],
            },
        ),
    ]
