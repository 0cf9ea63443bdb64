from django.urls import path

from seedbank.bank.views import caution, donation, lot, packet, place

urlpatterns = [
    path("lots/", lot.listing, name="lot-list"),
    path("lots/add/", lot.add, name="lot-add"),
    path("harvests/<str:number>/lot/", lot.from_harvest, name="lot-from-harvest"),
    path("lots/<str:number>/change/", lot.change, name="lot-change"),
    path("lots/<str:number>/withdraw/", lot.withdraw, name="lot-withdraw"),
    path("lots/<str:number>/packets/", packet.add, name="packets-add"),
    path("lots/<str:number>/labels/", packet.labels, name="packets-labels"),
    path("store/", packet.store, name="packet-store"),
    path("packets/<str:number>/split/", packet.split, name="packet-split"),
    path("packets/<str:number>/discard/", packet.discard_page, name="packet-discard"),
    path("places/", place.listing, name="place-list"),
    path("places/<int:key>/", place.change, name="place-change"),
    path("cautions/", caution.listing, name="caution-list"),
    path("cautions/add/", caution.add, name="caution-add"),
    path("cautions/<int:key>/", caution.change, name="caution-change"),
    path("cautions/<int:key>/withdraw/", caution.withdraw, name="caution-withdraw"),
    path("donations/", donation.listing, name="donation-list"),
    path("donations/offer/", donation.offering, name="donation-offer"),
    path("donations/offer/by-hand/", donation.offer_by_hand, name="donation-offer-by-hand"),
    path(
        "donations/offer/harvest/<str:number>/",
        donation.give_from_harvest,
        name="donation-give-harvest",
    ),
    path("donations/offer/lot/<str:number>/", donation.give_from_lot, name="donation-give-lot"),
    path("donations/by-hand/", donation.by_hand, name="donation-by-hand"),
    path("donations/<str:number>/", donation.detail, name="donation-detail"),
    path("donations/<str:number>/sheet.pdf", donation.sheet, name="donation-sheet"),
    path("donations/<str:number>/withdraw/", donation.withdraw, name="donation-withdraw"),
    path("donations/<str:number>/receive/", donation.receive, name="donation-receive"),
    path("donations/<str:number>/receive/scan/", donation.receive_scan, name="donation-scan"),
]
