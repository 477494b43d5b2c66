"""Stores: deliveries, quarantine, spools, pots, tank and bin."""

from __future__ import annotations

from datetime import timedelta

from plant.quantities import read_quantity
from records.items import actions as items
from records.items.actions.receiving import Delivery, Values
from records.items.making import Input
from records.items.models import Item, ItemState

from .causes import BAD_RESIN_LOT
from .diary import Diary
from .works import BIN, SCALE_BIG, SCALE_FINE, STATIONS, SUPPLIERS, TANK

SPOOL_G = 4000
# So much of a lot of hardener may be used before its certificate is there, and so long.
RISKED, RISKED_FOR = "2 kg", timedelta(days=14)
# What is ordered when: part, supplier, amount, and what the certificate says.
ORDERS = {
    "FIB-24": ("fibre", "40 kg", (("tensile modulus", "242", "GPa"),)),
    "FIB-46": ("fibre", "20 kg", (("tensile modulus", "375", "GPa"),)),
    "RES-A": ("resin", "20 kg", (("viscosity at 25 degC", "310", "mPa s"),)),
    "HRD-A": ("resin", "8 kg", (("amine value", "480", "mg KOH/g"),)),
    "ADH-A": ("resin", "3 kg", (("density", "1.14", "g/cm3"),)),
    "ADH-B": ("resin", "2 kg", ()),
    "INS-52": ("metal", "60 pcs", (("alloy", "6061-T6", ""),)),
    "BND-U": ("resin", "2 kg", ()),
}


def receive(diary: Diary, part: str, *, accept: bool = True, certificate: Values | None = None) -> str:
    """A delivery comes, is booked in and accepted; its code. Without another one its certificate says what is asked."""
    supplier, amount, usual = ORDERS[part]
    supplier_lot = f"{part[:1]}{diary.random.randrange(10**6):06d}"
    delivery = Delivery(
        part=part,
        quantity=read_quantity(amount),
        supplier=SUPPLIERS[supplier],
        supplier_lot=supplier_lot,
        delivery_note=f"DN {supplier_lot[-4:]}",
        expires_on=(diary.now + timedelta(days=240)).date(),
        station=STATIONS["Stores"],
        certificate=usual if certificate is None else certificate,
    )
    lot = diary.act("odo", lambda said: items.receive_lot("", delivery, said=said)).code
    if accept:
        diary.act("odo", lambda said: items.accept_lot(lot, said=said))
    return lot


def left(diary: Diary, code: str) -> int:
    """What may be taken of a lot, in whole steps: of one released at risk no more than it was released for."""
    remaining = ItemState.objects.get(code=code).remaining or 0
    if code != diary.stock.lots.get("at-risk"):
        return remaining
    kept_back = read_quantity(ORDERS["HRD-A"][1]).steps - read_quantity(RISKED).steps
    return remaining - kept_back


def open_lot(diary: Diary, part: str, need: str) -> str:
    """The lot in use of a part; a new one comes when it does not hold what is needed."""
    lot = diary.stock.lots.get(part)
    if lot is None or left(diary, lot) < read_quantity(need).steps:
        if part == "RES-A":
            diary.resin_lots += 1
        lot = receive(diary, part)
        diary.stock.lots[part] = lot
        if part == "RES-A" and diary.resin_lots == BAD_RESIN_LOT:
            diary.stock.lots["bad-resin"] = lot
        if part == "INS-52":
            _fill_bin(diary, lot)
    return lot


def _fill_bin(diary: Diary, lot: str) -> None:
    """A delivery of frame inserts goes into the bin, on top of what is left there."""
    whole = Input(lot, read_quantity("60 pcs"))
    diary.act("odo", lambda said: items.charge_tank(BIN, lot=whole, said=said))


def frame_inserts(diary: Diary) -> list[Input]:
    """Two frame inserts out of the bin: a lot of their own that may hold several deliveries."""
    rest = int(diary.stock.lots.get("bin-rest", "0"))
    if rest < 2:
        diary.stock.lots.pop("INS-52", None)
        open_lot(diary, "INS-52", "1 pcs")
        rest += 60
    diary.stock.lots["bin-rest"] = str(rest - 2)
    two = read_quantity("2 pcs")
    drawn = diary.act("marta", lambda said: items.draw_tank(BIN, into="", quantity=two, said=said))
    return [Input(drawn.code, two)]


def spool(diary: Diary, grams: int) -> str:
    """The spool in use; when it runs short three more are split off a lot."""
    spools = diary.stock.spools
    while spools and left(diary, spools[0]) < grams * 10**6:
        spools.pop(0)
    if not spools:
        lot = open_lot(diary, "FIB-24", f"{3 * SPOOL_G} g")
        into = [Input("", read_quantity(f"{SPOOL_G} g")) for _ in range(3)]
        made = diary.act("odo", lambda said: items.split_lot(lot, into, said=said))
        for one in made:
            _name_spool(diary, one)
            spools.append(one.code)
    return spools[0]


def _name_spool(diary: Diary, item: Item) -> None:
    """A spool is put on the shelf at the winding station."""
    diary.act("odo", lambda said: items.move_item(item.code, station=STATIONS["Winding"], said=said))


def resin_source(diary: Diary, grams: int) -> str:
    """Resin for one pot: every third from the tank, which is topped up on what is left, else from a can."""
    if diary.shots % 3 != 2:
        return open_lot(diary, "RES-A", f"{grams} g")
    tank_left = int(diary.stock.lots.get("tank-left", "0"))
    if tank_left < grams + 200:
        lot = open_lot(diary, "RES-A", "6 kg")
        charge = Input(lot, read_quantity("6 kg"))
        diary.act("odo", lambda said: items.charge_tank(TANK, lot=charge, said=said))
        tank_left += 6000
    diary.stock.lots["tank-left"] = str(tank_left - grams)
    take = read_quantity(f"{grams} g")
    return diary.act("odo", lambda said: items.draw_tank(TANK, into="", quantity=take, said=said)).code


def clean_tank(diary: Diary) -> bool:
    """The tank is emptied and cleaned: only this cuts the chain from the lots before."""
    diary.act("odo", lambda said: items.clean_tank(TANK, said=said))
    diary.stock.lots["tank-left"] = "0"
    return True


def resin_pot(diary: Diary, shots: int) -> str:
    """Mix a pot for one to three shots."""
    resin_g = 150 * shots + 30
    resin, hardener = resin_source(diary, resin_g), open_lot(diary, "HRD-A", "400 g")
    parts = [
        Input(resin, read_quantity(f"{resin_g} g")),
        Input(hardener, read_quantity(f"{resin_g * 3 // 10} g")),
    ]
    weighing = items.Weighing((SCALE_FINE,), STATIONS["Mixing"])
    return diary.act(
        "marta", lambda said: items.mix_pot("", mix="resin", inputs=parts, weighing=weighing, said=said)
    ).code


def adhesive_pot(diary: Diary, frames: int) -> str:
    """Mix adhesive for some frames."""
    paste, hardener = open_lot(diary, "ADH-A", "300 g"), open_lot(diary, "ADH-B", "200 g")
    grams = 40 * frames
    parts = [Input(paste, read_quantity(f"{grams} g")), Input(hardener, read_quantity(f"{grams // 2} g"))]
    weighing = items.Weighing((SCALE_BIG,), STATIONS["Mixing"])
    return diary.act(
        "lenz", lambda said: items.mix_pot("", mix="adhesive", inputs=parts, weighing=weighing, said=said)
    ).code


def write_off_pots(diary: Diary) -> None:
    """What is left in the pots of the day has hardened by the evening, and is written off."""
    pots = ItemState.objects.filter(item__good_until__isnull=False, remaining__gt=0)
    for code in list(pots.order_by("item").values_list("code", flat=True)):
        diary.act("odo", lambda said, pot=code: items.scrap(pot, words="hardened in the pot", said=said))


def quarantine_troubles(diary: Diary) -> None:
    """One lot is rejected; another is used before its certificate is there, and accepted later."""
    rejected = receive(diary, "FIB-46", accept=False, certificate=[("tensile modulus", "362", "GPa")])
    diary.act("odo", lambda said: items.reject_lot(rejected, words="modulus below what is asked", said=said))
    risky = receive(diary, "HRD-A", accept=False, certificate=())
    limit, until = read_quantity(RISKED), diary.now + RISKED_FOR
    words = "certificate is on its way"
    diary.act("quill", lambda said: items.release_at_risk(risky, words=words, limit=limit, until=until, said=said))
    diary.stock.lots["HRD-A"] = risky
    diary.stock.lots["at-risk"] = risky
