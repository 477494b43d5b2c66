import django.db.models.deletion
import records.items.models.codes
import records.ledger.patterns
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('items', '0001_the_tables'),
        ('ledger', '0002_the_tables'),
        ('people', '__first__'),
    ]

    operations = [
        migrations.CreateModel(
            name='Nonconformance',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.SmallIntegerField(default=1)),
                ('status', models.SmallIntegerField(choices=[(0, 'stands'), (2, 'ended'), (3, 'withdrawn')], default=0)),
                ('code', records.items.models.codes.HouseCodeField(max_length=40)),
                ('defect', models.CharField(choices=[('dimension', 'dimension outside its band'), ('cure', 'cure outside its recipe'), ('leak', 'leak test failed'), ('dry-patch', 'dry patch'), ('void', 'void or porosity'), ('bond', 'bond line'), ('surface', 'surface'), ('material', 'material'), ('field', 'failure in use'), ('other', 'other')], max_length=12)),
                ('found_at', models.DateTimeField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('first', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='later', to='quality.nonconformance')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='nonconformances', to='items.item')),
                ('words', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('first', 'version'), name='nonconformance_version_once'), models.CheckConstraint(condition=models.Q(models.Q(('first__isnull', True), ('version', 1)), models.Q(('first__isnull', False), ('version__gt', 1)), _connector='OR'), name='nonconformance_first_is_version_1'), models.UniqueConstraint(condition=models.Q(('version', 1)), fields=('code',), name='nonconformance_code_once')],
            },
        ),
        migrations.CreateModel(
            name='Disposition',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('choice', models.CharField(choices=[('rework', 'rework'), ('as-is', 'allow as is'), ('scrap', 'scrap'), ('return', 'return to supplier'), ('no-departure', 'no departure found')], max_length=12)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('words', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
                ('nonconformance', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='disposition', to='quality.nonconformance')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Countersign',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('decider', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('signer', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('disposition', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='countersign', to='quality.disposition')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('decider', models.F('signer')), _negated=True), name='countersigned_by_another_person')],
            },
        ),
    ]
