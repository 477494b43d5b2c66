import django.db.models.deletion
import django.db.models.functions.comparison
import records.items.models.codes
import records.ledger.patterns
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('catalogue', '0001_the_tables'),
        ('equipment', '0001_the_tables'),
        ('items', '0001_the_tables'),
        ('ledger', '0002_the_tables'),
    ]

    operations = [
        migrations.CreateModel(
            name='Run',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.SmallIntegerField(default=1)),
                ('status', models.SmallIntegerField(choices=[(0, 'stands'), (2, 'ended'), (3, 'withdrawn')], default=0)),
                ('code', records.items.models.codes.HouseCodeField(max_length=40)),
                ('kind', models.CharField(choices=[('leak-test', 'leak test'), ('fill', 'fill'), ('cure', 'cure'), ('bonding', 'bonding heat'), ('metering', 'metered shot')], max_length=10)),
                ('began_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(null=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('first', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='later', to='runs.run')),
                ('place', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='items.place')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('first', 'version'), name='run_version_once'), models.CheckConstraint(condition=models.Q(models.Q(('first__isnull', True), ('version', 1)), models.Q(('first__isnull', False), ('version__gt', 1)), _connector='OR'), name='run_first_is_version_1'), models.UniqueConstraint(condition=models.Q(('version', 1)), fields=('code',), name='run_code_once')],
            },
        ),
        migrations.CreateModel(
            name='Log',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120)),
                ('sha256', models.CharField(max_length=64, unique=True)),
                ('block_sha256', models.CharField(max_length=64)),
                ('rows', models.IntegerField()),
                ('rows_set_aside', models.IntegerField(default=0)),
                ('zone', models.CharField(blank=True, default='', max_length=64)),
                ('first_at', models.DateTimeField(null=True)),
                ('last_at', models.DateTimeField(null=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('recorder', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='equipment.recorder')),
                ('run', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='logs', to='runs.run')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Assessment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('verdict', models.CharField(choices=[('within', 'within'), ('near-edge', 'near edge'), ('outside', 'outside'), ('not-shown', 'not shown')], max_length=10)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('recipe_revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='assessments', to='catalogue.reciperevision')),
                ('log', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='assessments', to='runs.log')),
                ('run', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='assessments', to='runs.run')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='AssessmentCheck',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('words', models.CharField(max_length=240)),
                ('got', records.ledger.patterns.StepsField(null=True)),
                ('unit_kind', models.CharField(max_length=16)),
                ('verdict', models.CharField(choices=[('within', 'within'), ('near-edge', 'near edge'), ('outside', 'outside'), ('not-shown', 'not shown')], max_length=10)),
                ('from_at', models.DateTimeField(null=True)),
                ('to_at', models.DateTimeField(null=True)),
                ('assessment', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='checks', to='runs.assessment')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('rule', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.reciperule')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('got', django.db.models.functions.comparison.Cast(models.F('got'), models.BigIntegerField())), ('got__isnull', True), _connector='OR'), name='assessment_check_got_whole')],
            },
        ),
        migrations.CreateModel(
            name='AssessmentPhase',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=40)),
                ('from_at', models.DateTimeField()),
                ('to_at', models.DateTimeField()),
                ('assessment', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='phases', to='runs.assessment')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='RunDecision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('choice', models.CharField(choices=[('accept', 'accepted'), ('fail', 'failed')], max_length=8)),
                ('assessment', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='decisions', to='runs.assessment')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('run', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='decisions', to='runs.run')),
                ('words', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='RunUnit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('run', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='units', to='runs.run')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='items.item')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('run', 'unit'), name='run_unit_once')],
            },
        ),
        migrations.CreateModel(
            name='LogBytes',
            fields=[
                ('log', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='bytes', serialize=False, to='runs.log')),
                ('raw', models.BinaryField()),
                ('block', models.BinaryField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'verbose_name_plural': 'log bytes',
            },
        ),
        migrations.CreateModel(
            name='LogChannel',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('n', models.SmallIntegerField()),
                ('name', models.CharField(max_length=80)),
                ('role', models.CharField(blank=True, default='', max_length=40)),
                ('quantity', models.CharField(blank=True, default='', max_length=24)),
                ('unit', models.CharField(blank=True, default='', max_length=12)),
                ('readings', models.IntegerField()),
                ('missing', models.IntegerField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('log', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='channels', to='runs.log')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('log', 'n'), name='log_channel_once')],
            },
        ),
    ]
