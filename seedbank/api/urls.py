from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView
from rest_framework.routers import SimpleRouter

from seedbank.api.views.flowers import HarvestView, PollinationView
from seedbank.api.views.germination import GerminationView
from seedbank.api.views.guide import guide
from seedbank.api.views.keeper import DonationView, LinesView, OneLineView
from seedbank.api.views.listing import ListView
from seedbank.api.views.me import MeView
from seedbank.api.views.nowhere import NowhereView
from seedbank.api.views.packets import PacketView
from seedbank.api.views.records import CrossView, LotView, PlantView
from seedbank.api.views.rounds import RoundView
from seedbank.api.views.society import CountView, ParcelView, TaxonView
from seedbank.api.views.sowings import SowingView
from seedbank.api.views.suffix import as_csv

router = SimpleRouter()
router.register("germination", GerminationView, basename="api-germination")
router.register("packets", PacketView, basename="api-packet")
router.register("lots", LotView, basename="api-lot")
router.register("crosses", CrossView, basename="api-cross")
router.register("plants", PlantView, basename="api-plant")
router.register("pollinations", PollinationView, basename="api-pollination")
router.register("harvests", HarvestView, basename="api-harvest")
router.register("taxa", TaxonView, basename="api-taxon")
router.register("rounds", RoundView, basename="api-round")
router.register("parcels", ParcelView, basename="api-parcel")
router.register("donations", DonationView, basename="api-donation")
router.register("sowings", SowingView, basename="api-sowing")

urlpatterns = [
    path("", guide, name="api-guide"),
    path("schema/", SpectacularAPIView.as_view(), name="api-schema"),
    path("me/", MeView.as_view(), name="api-me"),
    path("counts/", CountView.as_view({"get": "list"}, basename="api-count"), name="api-count"),
    path("list/", ListView.as_view({"get": "list"}, basename="api-list"), name="api-list"),
    path("rounds/<slug:slug>/lines/", LinesView.as_view(), name="api-lines"),
    path("rounds/<slug:slug>/lines/<int:line_number>/", OneLineView.as_view(), name="api-line"),
    path("<path:rest>.csv", as_csv),
    path("", include(router.urls)),
    path("<path:rest>", NowhereView.as_view()),
]
