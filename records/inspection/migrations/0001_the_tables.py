import django.db.models.deletion
import django.db.models.functions.comparison
import records.ledger.patterns
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('catalogue', '0001_the_tables'),
        ('equipment', '0001_the_tables'),
        ('items', '0001_the_tables'),
        ('ledger', '0002_the_tables'),
        ('people', '__first__'),
    ]

    operations = [
        migrations.CreateModel(
            name='Measurement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.SmallIntegerField(default=1)),
                ('status', models.SmallIntegerField(choices=[(0, 'stands'), (2, 'ended'), (3, 'withdrawn')], default=0)),
                ('value', records.ledger.patterns.StepsField(null=True)),
                ('unit_kind', models.CharField(max_length=16)),
                ('written', models.CharField(blank=True, default='', max_length=40)),
                ('unit_text', models.CharField(blank=True, default='', max_length=8)),
                ('at', models.DateTimeField()),
                ('reason', models.CharField(blank=True, default='', max_length=40)),
                ('characteristic_revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='measurements', to='catalogue.characteristicrevision')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('first', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='later', to='inspection.measurement')),
                ('gauge', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='measurements', to='equipment.gauge')),
                ('second', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='measurements', to='items.item')),
                ('words', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'indexes': [models.Index(fields=['unit'], name='measurement_of_unit'), models.Index(fields=['characteristic_revision', 'at'], name='measurement_in_order')],
                'constraints': [models.UniqueConstraint(fields=('first', 'version'), name='measurement_version_once'), models.CheckConstraint(condition=models.Q(models.Q(('first__isnull', True), ('version', 1)), models.Q(('first__isnull', False), ('version__gt', 1)), _connector='OR'), name='measurement_first_is_version_1'), models.CheckConstraint(condition=models.Q(('value', django.db.models.functions.comparison.Cast(models.F('value'), models.BigIntegerField())), ('value__isnull', True), _connector='OR'), name='measurement_value_whole')],
            },
        ),
        migrations.CreateModel(
            name='Reading',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('n', models.SmallIntegerField()),
                ('value', records.ledger.patterns.StepsField()),
                ('written', models.CharField(max_length=40)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('measurement', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='inspection.measurement')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('measurement', 'n'), name='reading_once'), models.CheckConstraint(condition=models.Q(('value', django.db.models.functions.comparison.Cast(models.F('value'), models.BigIntegerField())), ('value__isnull', True), _connector='OR'), name='reading_value_whole')],
            },
        ),
    ]
