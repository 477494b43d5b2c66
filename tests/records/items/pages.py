"""The desk of Stores as a person works it: a page opened, its form filled in and pressed."""

from django.urls import reverse

from tests import builders
from tests.records.floor.told import tablet


def text(response) -> str:
    return response.content.decode()


def press(name: str, *args: str, role: str = builders.ALL_ROLES, follow: bool = False, **told: str):
    client, address = tablet(role), reverse(f"items:{name}", args=args)
    form = client.get(address).context["form"]
    return client.post(
        address, {field: str(form.initial[field]) for field in ("key", "drawn_at")} | told, follow=follow
    )
