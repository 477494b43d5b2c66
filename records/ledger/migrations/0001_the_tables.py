import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='Entry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField()),
                ('kind', models.CharField(max_length=40)),
                ('device', models.CharField(blank=True, default='', max_length=40)),
                ('made_at', models.DateTimeField()),
                ('offset_ms', models.IntegerField(default=0)),
                ('happened_at', models.DateTimeField()),
                ('taken_at', models.DateTimeField(db_index=True)),
                ('asked', models.BinaryField(max_length=32)),
            ],
            options={
                'verbose_name_plural': 'entries',
            },
        ),
        migrations.CreateModel(
            name='Flag',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(db_index=True, max_length=40)),
                ('facts', models.TextField(default='{}')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Leaf',
            fields=[
                ('index', models.BigIntegerField(primary_key=True, serialize=False)),
            ],
            options={
                'verbose_name_plural': 'leaves',
            },
        ),
        migrations.CreateModel(
            name='Node',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('level', models.SmallIntegerField()),
                ('index', models.BigIntegerField()),
                ('hash', models.BinaryField(max_length=32)),
            ],
        ),
        migrations.CreateModel(
            name='PrivateWords',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('salt', models.BinaryField(max_length=16, null=True)),
                ('text', models.TextField(null=True)),
                ('commitment', models.BinaryField(max_length=32)),
            ],
            options={
                'verbose_name_plural': 'private words',
            },
        ),
        migrations.CreateModel(
            name='SigningKey',
            fields=[
                ('number', models.SmallIntegerField(primary_key=True, serialize=False)),
                ('key', models.BinaryField(max_length=32)),
                ('size', models.BigIntegerField()),
                ('taken_at', models.DateTimeField()),
                ('signature', models.BinaryField(max_length=64)),
                ('signature_before', models.BinaryField(max_length=64, null=True)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('key',), name='signing_key_once')],
            },
        ),
        migrations.CreateModel(
            name='TreeHead',
            fields=[
                ('size', models.BigIntegerField(primary_key=True, serialize=False)),
                ('before', models.BigIntegerField()),
                ('root', models.BinaryField(max_length=32)),
                ('upto', models.BigIntegerField()),
                ('signed_at', models.DateTimeField()),
                ('key_id', models.CharField(max_length=40)),
                ('signature', models.BinaryField(max_length=64)),
            ],
        ),
        migrations.CreateModel(
            name='Unplaced',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('said_key', models.UUIDField(db_index=True)),
                ('said_kind', models.CharField(max_length=40)),
                ('said_by', models.BigIntegerField()),
                ('said_at', models.DateTimeField()),
                ('code', models.CharField(max_length=40)),
                ('raw', models.TextField()),
                ('fingerprint', models.BinaryField(max_length=32)),
            ],
            options={
                'verbose_name_plural': 'unplaced',
            },
        ),
        migrations.CreateModel(
            name='UnplacedSettled',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('how', models.CharField(choices=[('placed', 'placed by a later entry'), ('aside', 'set aside')], max_length=8)),
                ('placed_by', models.UUIDField(null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='WordsErased',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.CharField(choices=[('asked', 'the person asked for it'), ('time', 'kept as long as they were needed'), ('wrong', 'they should not have been written')], max_length=8)),
            ],
            options={
                'verbose_name_plural': 'words erased',
            },
        ),
        migrations.CreateModel(
            name='EntryBody',
            fields=[
                ('entry', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='body', serialize=False, to='ledger.entry')),
                ('payload', models.TextField()),
                ('leaf_hash', models.BinaryField(max_length=32)),
            ],
            options={
                'verbose_name_plural': 'entry bodies',
            },
        ),
    ]
