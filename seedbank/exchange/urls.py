from django.urls import URLPattern, path

from seedbank.exchange.views import (
    allocation,
    checking,
    coming_back,
    customs,
    listing,
    packing,
    posting,
    printing,
    report,
    round,
    surplus,
    wishes,
)


def _wishes_of(page: str, name: str) -> list[URLPattern]:
    """Return the pages of one member's wishes; the keeper's for a member are the same pages."""
    return [
        path(page, wishes.wishes, name=name),
        path(f"{page}put/", wishes.wishes_put, name=f"{name}-put"),
        path(f"{page}order/", wishes.wishes_order, name=f"{name}-order"),
        path(f"{page}receipt/", wishes.wishes_receipt, name=f"{name}-receipt"),
        path(f"{page}cancel/", wishes.wishes_cancel, name=f"{name}-cancel"),
    ]


urlpatterns: list[URLPattern] = [
    path("rounds/", round.round_list, name="round-list"),
    path("rounds/open/", round.round_open, name="round-open"),
    path("rounds/<slug:slug>/", round.round_detail, name="round-detail"),
    path("rounds/<slug:slug>/change/", round.round_change, name="round-change"),
    path("rounds/<slug:slug>/list/", listing.list_page, name="list-page"),
    path("rounds/<slug:slug>/list.csv", listing.list_download, name="list-download"),
    path("rounds/<slug:slug>/list.pdf", listing.list_catalogue, name="list-catalogue"),
    path("rounds/<slug:slug>/list/edit/", listing.list_edit, name="list-edit"),
    path("rounds/<slug:slug>/list/publish/", listing.list_publish, name="list-publish"),
    path("rounds/<slug:slug>/list/<int:line_number>/", listing.line_change, name="line-change"),
    path(
        "rounds/<slug:slug>/list/<int:line_number>/withdraw/",
        listing.line_withdraw,
        name="line-withdraw",
    ),
    path(
        "rounds/<slug:slug>/list/<int:line_number>/remove/", listing.line_remove, name="line-remove"
    ),
    path("rounds/<slug:slug>/list/<int:line_number>/bar/", listing.line_bar, name="line-bar"),
    path("rounds/<slug:slug>/list/<int:line_number>/unbar/", listing.line_unbar, name="line-unbar"),
    path("rounds/<slug:slug>/wishes/", wishes.wishes, name="wishes"),
    path("rounds/<slug:slug>/wishes/add/", wishes.wish_add, name="wish-add"),
    path("rounds/<slug:slug>/wishes/lists/", wishes.wish_lists, name="wish-lists"),
    path("rounds/<slug:slug>/wishes/receipts/", wishes.receipts, name="wish-receipts"),
    *_wishes_of("rounds/<slug:slug>/wishes/", "wishes"),
    *_wishes_of("rounds/<slug:slug>/wishes/of/<str:member_number>/", "wishes-for-member"),
    path("rounds/<slug:slug>/report/", report.report_page, name="report"),
    path("rounds/<slug:slug>/report.csv", report.report_download, name="report-download"),
    path("rounds/<slug:slug>/report.pdf", report.report_print, name="report-print"),
    path("rounds/<slug:slug>/sharing/", allocation.allocation, name="allocation"),
    path("rounds/<slug:slug>/sharing/freeze/", allocation.freeze, name="allocation-freeze"),
    path("rounds/<slug:slug>/sharing/run/", allocation.allocation_run, name="allocation-run"),
    path("rounds/<slug:slug>/sharing/again/", allocation.allocation_again, name="allocation-again"),
    path("rounds/<slug:slug>/sharing/barred/", allocation.release_barred, name="release-barred"),
    path("rounds/<slug:slug>/sharing/by-hand/", allocation.by_hand, name="allocation-by-hand"),
    path(
        "rounds/<slug:slug>/sharing/announce/",
        allocation.allocation_announce,
        name="allocation-announce",
    ),
    path("rounds/<slug:slug>/result/", allocation.allocation_result, name="allocation-result"),
    path("rounds/<slug:slug>/result/mine/", allocation.my_result_page, name="my-result"),
    path(
        "rounds/<slug:slug>/result/of/<str:member_number>/",
        allocation.member_result,
        name="member-result",
    ),
    path("rounds/<slug:slug>/result/<str:part>.json", checking.bundle, name="allocation-bundle"),
    path("rounds/<slug:slug>/check/", checking.check_page, name="allocation-check"),
    path("verify_sharing.pyz", checking.verifier_file, name="verifier"),
    path("rounds/<slug:slug>/surplus/", surplus.surplus_page, name="surplus"),
    path("rounds/<slug:slug>/surplus/set/", surplus.surplus_set, name="surplus-set"),
    path("rounds/<slug:slug>/surplus/take/", surplus.surplus_take, name="surplus-take"),
    path("rounds/<slug:slug>/surplus/back/<int:key>/", surplus.surplus_back, name="surplus-back"),
    path("packing/", packing.packing, name="packing"),
    path("packing/pick/", packing.picklist, name="picklist"),
    path("packing/slips.pdf", printing.slips, name="slips"),
    path("packing/print/", printing.parcels_print, name="parcels-print"),
    path("packing/addresses/", printing.address_labels, name="address-labels"),
    path("customs/", customs.customs_list, name="customs-list"),
    path("customs/add/", customs.customs_add, name="customs-add"),
    path("customs/<int:key>/", customs.customs_change, name="customs-change"),
    path("parcels/<str:number>/customs/", customs.parcel_customs, name="parcel-customs"),
    path("parcels/<str:number>/customs.pdf", customs.parcel_customs_pdf, name="parcel-customs-pdf"),
    path("parcels/<str:number>/", packing.parcel_detail, name="parcel-detail"),
    path("parcels/<str:number>/take/", packing.parcel_take, name="parcel-take"),
    path("parcels/<str:number>/scan/", packing.parcel_scan, name="parcel-scan"),
    path("parcels/<str:number>/items/<int:key>/short/", packing.parcel_short, name="parcel-short"),
    path(
        "parcels/<str:number>/items/<int:key>/out/", packing.parcel_take_out, name="parcel-take-out"
    ),
    path("parcels/<str:number>/close/", posting.parcel_close, name="parcel-close"),
    path("parcels/<str:number>/reopen/", posting.parcel_reopen, name="parcel-reopen"),
    path("parcels/<str:number>/post/", posting.parcel_post, name="parcel-post"),
    path("parcels/<str:number>/cancel/", posting.parcel_cancel, name="parcel-cancel"),
    path("parcels/<str:number>/reports/stop/", coming_back.report_stop, name="report-stop"),
    # The address in the code of a slip; short, so that the code's modules stay big.
    path("r/<str:number>/<str:signature>/", coming_back.report_page, name="coming-back"),
    path("parcels/<str:number>/slip.pdf", printing.parcel_slip, name="parcel-slip"),
]
