"""Two migrations of one number came at once; neither touches what the other does."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("items", "0005_lines_put_right"),
        ("items", "0005_withdrawn"),
    ]
    operations: list = []
