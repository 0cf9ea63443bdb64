from django.urls import URLPattern, path

from seedbank.sowings.views import count, lot, sowing

urlpatterns: list[URLPattern] = [
    path("sowings/", sowing.listing, name="sowing-list"),
    path("sowings/add/", sowing.add, name="sowing-add"),
    path("sowings/counts/", count.grid, name="count-grid"),
    path("sowings/<str:number>/", sowing.detail, name="sowing-detail"),
    path("sowings/<str:number>/close/", sowing.close, name="sowing-close"),
    path("sowings/<str:number>/reopen/", sowing.reopen, name="sowing-reopen"),
    path("sowings/<str:number>/withdraw/", sowing.withdraw, name="sowing-withdraw"),
    path("sowings/<str:number>/compare/", sowing.compare, name="sowing-compare"),
    path("lots/<str:number>/compare/", lot.compare, name="lot-compare"),
    path("sowings/<str:number>/seedlings/", sowing.seedlings, name="seedling-add"),
    path("sowings/<str:number>/counts/", count.add, name="count-add"),
    path("sowings/<str:number>/counts/<int:key>/withdraw/", count.withdraw, name="count-withdraw"),
]
