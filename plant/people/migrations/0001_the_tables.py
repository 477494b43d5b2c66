import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('ledger', '0001_the_tables'),
    ]

    operations = [
        migrations.CreateModel(
            name='Person',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('password', models.CharField(max_length=128, verbose_name='password')),
                ('last_login', models.DateTimeField(blank=True, null=True, verbose_name='last login')),
                ('badge', models.CharField(max_length=40, unique=True)),
                ('pin', models.CharField(blank=True, default='', max_length=128)),
                ('login', models.BooleanField(default=True)),
                ('is_active', models.BooleanField(default=True)),
                ('language', models.CharField(default='en', max_length=5)),
                ('name_words', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Device',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=40, unique=True)),
                ('public_key', models.TextField(blank=True, default='')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='DeviceEnded',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.CharField(max_length=40)),
                ('device', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='ended', to='people.device')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='PersonRole',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('role', models.CharField(choices=[('operator', 'operator'), ('lead', 'shift lead'), ('stores', 'stores'), ('review', 'review'), ('engineer', 'engineer'), ('manager', 'manager'), ('auditor', 'auditor')], max_length=12)),
                ('given', models.BooleanField(default=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='role_facts', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='BadgeChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('what', models.CharField(choices=[('closed', 'Closed'), ('opened', 'Opened'), ('password', 'Password'), ('pin', 'Pin')], max_length=8)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='badge_changes', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Works',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=20)),
                ('name', models.CharField(max_length=120)),
                ('zone', models.CharField(max_length=64)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'verbose_name_plural': 'works',
            },
        ),
        migrations.CreateModel(
            name='Qualification',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.SmallIntegerField(default=1)),
                ('status', models.SmallIntegerField(choices=[(0, 'stands'), (2, 'ended'), (3, 'withdrawn')], default=0)),
                ('what', models.CharField(max_length=40)),
                ('from_on', models.DateField()),
                ('until_on', models.DateField(null=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('first', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='later', to='people.qualification')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='qualifications', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('first', 'version'), name='qualification_version_once'), models.CheckConstraint(condition=models.Q(models.Q(('first__isnull', True), ('version', 1)), models.Q(('first__isnull', False), ('version__gt', 1)), _connector='OR'), name='qualification_first_is_version_1'), models.CheckConstraint(condition=models.Q(('until_on__isnull', True), ('until_on__gte', models.F('from_on')), _connector='OR'), name='qualification_ends_after_it_begins', violation_error_message='The last day lies before the first.')],
            },
        ),
    ]
