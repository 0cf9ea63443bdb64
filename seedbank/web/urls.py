from django.urls import path

from seedbank.web.views import find, home, packet

urlpatterns = [
    path("", home.home, name="home"),
    path("find/", find.find, name="find"),
    # The address in every QR code; short, so that the code's modules stay big.
    path("s/<str:number>", find.short, name="short"),
    path("packets/<str:number>/", packet.detail, name="packet-detail"),
]
