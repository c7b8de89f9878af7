"""The board finds families by their site. None has one yet, so what is stored is right and need not be worked out."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("curriculum", "0010_keep_drafts_of_programmes"),
        ("people", "0041_keep_the_site_of_a_family"),
        ("standing", "0005_put_the_organisation_first"),
    ]

    operations = [
        migrations.AddField(
            model_name="boardfamily",
            name="site",
            field=models.CharField(blank=True, default="", max_length=60),
        ),
        migrations.AddIndex(
            model_name="boardfamily",
            index=models.Index(fields=["organisation", "site"], name="board_family_by_site"),
        ),
    ]
