"""Wrong PINs are counted by the badge as it was typed, whether anybody has it or not. Counts begin anew."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('people', '0005_device_settled'),
    ]

    operations = [
        migrations.DeleteModel(name='PinGuess'),
        migrations.CreateModel(
            name='PinGuess',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('badge', models.CharField(max_length=40)),
                ('failed', models.IntegerField(default=0)),
                ('last_at', models.DateTimeField()),
                ('device', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='people.device')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('device', 'badge'), name='pin_guess_of_one_badge_there')],
            },
        ),
    ]
