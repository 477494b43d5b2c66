"""What a trace found, in words and as rows of a table."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from urllib.parse import quote

from django import template
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.html import escape, format_html
from django.utils.safestring import SafeString, mark_safe

from plant.templatetags.showing import percent, state
from records.items.queries import IN, OUT, SCRAPPED, SHIPPED

from .. import listing
from ..queries import Found

register = template.Library()


@register.filter
def any_share(rows: Iterable[Found]) -> bool:
    """Whether one of the rows holds a share of what was asked about."""
    return any(row.share_ppb is not None for row in rows)


@register.filter
def first_ones(rows: Sequence[Found]) -> Sequence[Found]:
    """As many rows as a list beside the frames shows."""
    return rows[: listing.MOST_BESIDE]


@register.filter
def left_out(rows: Sequence[Found]) -> int:
    """How many rows more there are than such a list shows."""
    return max(0, len(rows) - listing.MOST_BESIDE)


@register.simple_tag
def found_rows(rows: Sequence[Found]) -> SafeString:
    """Rows of the table in ``trace/_found.html``.

    Set here, since a list may have thousands: a template that looks up each cell takes seven times as long. States
    and links are made once for each that differs.
    """
    table = FoundRows(has_shares=any_share(rows))
    return mark_safe("\n".join(map(table.row, rows)))


class FoundRows:
    """Sets rows of one table; every text that comes from records is escaped where it is put in."""

    def __init__(self, *, has_shares: bool) -> None:
        self._has_shares = has_shares
        # An address is the same for every code but for the code: it is looked up once.
        self._address = reverse("trace:unit", args=["0"]).removesuffix("0/")
        self._state, self._link = cache(self._state), cache(self._link)  # type: ignore[method-assign]

    def row(self, found: Found) -> str:
        """One row."""
        once = "".join(format_html(' <span class="soft">once {}</span>', old) for old in found.names.once)
        share = f'<td class="n">{percent(found.share_ppb)}</td>' if self._has_shares else ""
        return (
            f'<tr><th scope="row">{self._link(found.code, "code")}{once}</th>\n<td>{escape(found.part)}</td>\n'
            f"<td>{self._between(found.between)}</td>\n<td>{self._state(found.sure or 'ended', '')}</td>{share}\n"
            f"<td>{self._where(found)}</td>\n<td>{self._state('held', '') if found.held else ''}</td></tr>"
        )

    def _between(self, steps: Sequence[str]) -> str:
        if not steps:
            return '<span class="soft">straight</span>'
        first, *more = (self._link(step, "code soft") for step in steps)
        if not more:
            return f"<span>{first}</span>"
        return f'<span class="first">{first}, </span><span>{", </span><span>".join(more)}</span>'

    def _where(self, found: Found) -> str:
        at = found.at or ""
        if found.state == IN:
            return f"in {self._link(at, 'code')}"
        shown = {SCRAPPED: ("scrapped", ""), SHIPPED: ("gone", at), OUT: ("working", at)}
        return self._state(*shown.get(found.state, ("here", at or "In the works")))

    def _state(self, code: str, word: str) -> str:
        return render_to_string("parts/state.html", state(code, word)).strip()

    def _link(self, code: str, look: str) -> str:
        return format_html('<a class="{}" href="{}{}/">{}</a>', look, self._address, quote(code, safe=_SAFE), code)


# What an address of this site leaves as it is: RFC 3986, sections 2.2 and 2.3, as Django's own addresses do.
_SAFE = "!$&'()*+,;=/~:@"
