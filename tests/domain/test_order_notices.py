"""How an order stands, in words."""

from dataclasses import replace
from datetime import date

from app.domain.order_notices import (
    Mend,
    OrderNotice,
    OrderOutlook,
    chance_sentence,
    mend_sentence,
    notice_sentences,
    standing_sentence,
)
from app.domain.orders import NotPlannable, Order, OrderEntry

TODAY = date(2026, 11, 25)
OUTLOOK = OrderOutlook(
    batches=3,
    stuck=900,
    rooted=412,
    unrooted=1,
    potted=200,
    chance=0.32,
    expected=430,
    low=380,
    high=470,
    mend=Mend(stick=140, by_on=date(2027, 3, 8)),
    unlikely=True,
)


def test_what_is_stuck_rooted_and_expected() -> None:
    assert standing_sentence(OUTLOOK) == (
        "3 batches, 900 stuck for it: 412 rooted, 1 not rooted yet, 200 potted up."
    )
    assert standing_sentence(replace(OUTLOOK, batches=0)) == "Nothing is stuck for it yet."
    assert "(380 to 470), with a chance of 32 % of 500 or more." in chance_sentence(
        OUTLOOK, plants=500
    )
    assert "Too few batches" in chance_sentence(replace(OUTLOOK, chance=None), plants=500)


def test_what_would_mend_it_and_why_nothing_does() -> None:
    def said(mend: Mend | None, stuck: int = 900) -> str:
        outlook = replace(OUTLOOK, mend=mend, stuck=stuck)
        return mend_sentence(outlook, sure="90 %", today=TODAY)

    assert said(OUTLOOK.mend) == "Stick 140 more by Mon 8 Mar to be 90 % sure."
    assert said(Mend(stick=1140, by_on=TODAY), stuck=0) == "Stick 1,140 today to be 90 % sure."
    assert "too late to root in time" in said(
        Mend(stick=None, by_on=TODAY, refusal=NotPlannable.TOO_LATE)
    )
    assert "Not even ten more cuttings" in said(
        Mend(stick=None, by_on=TODAY, refusal=NotPlannable.TOO_MANY)
    )
    assert said(None) == ""


def test_a_notice_names_the_chance_and_the_mend() -> None:
    entry = OrderEntry(plants=500, due_on=date(2027, 5, 17), plant_name_id=1)
    order = Order(id=1, number=3, version=1, entry=entry, plant="Hebe", genus="Hebe", genus_id=1)
    chance, mend = notice_sentences(OrderNotice(order=order, outlook=OUTLOOK), today=TODAY)
    assert chance == "The chance of 500 in time is 32 %."
    assert mend.startswith("Stick 140 more")
