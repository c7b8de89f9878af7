from unicodedata import normalize

from django.db import migrations


def one_spelling(username):
    return normalize("NFKC", normalize("NFKC", username).strip().casefold())


def write_one_way(apps, schema_editor):
    for user in apps.get_model("people", "User").objects.only("username"):
        if user.username != one_spelling(user.username):
            user.username = one_spelling(user.username)
            user.save(update_fields=["username"])


class Migration(migrations.Migration):
    dependencies = [("people", "0010_let_sessions_end_and_accounts_close")]

    operations = [migrations.RunPython(write_one_way, migrations.RunPython.noop)]
