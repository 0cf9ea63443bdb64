"""The url map of the whole service."""

from django.contrib import admin
from django.urls import include, path
from django.views.generic import RedirectView

from seedbank.members.views.sign_in import admin_door

urlpatterns = [
    path("", include("seedbank.members.urls")),
    path("", include("seedbank.jobs.urls")),
    path("", include("crosses.urls")),
    path("", include("seedbank.bank.urls")),
    path("", include("seedbank.sowings.urls")),
    path("", include("seedbank.exchange.urls")),
    path("", include("seedbank.web.urls")),
    path("api/v1/", include("seedbank.api.urls")),
    path("brapi/v2/", include("seedbank.api.brapi.urls")),
    path("admin/login/", admin_door),
    path("admin/password_change/", RedirectView.as_view(pattern_name="password-change")),
    path("admin/", admin.site.urls),
]

handler500 = "seedbank.api.errors.crashed"
