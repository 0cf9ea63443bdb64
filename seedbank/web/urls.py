from django.urls import URLPattern, path

from seedbank.web.views import (
    bench,
    find,
    given,
    home,
    lot,
    offline,
    packet,
    reminders,
    transfer,
)

urlpatterns: list[URLPattern] = [
    path("", home.home, name="home"),
    path("bench/", bench.bench, name="bench"),
    path("bench/reminders/", reminders.reminders, name="bench-reminders"),
    path("bench/reminders/mail/", reminders.daily_mail, name="bench-daily-mail"),
    path("bench/reminders/<int:key>/revoke/", reminders.revoke, name="bench-calendar-revoke"),
    path("calendar/<str:secret>.ics", reminders.feed, name="calendar-feed"),
    path("find/", find.find, name="find"),
    # The address in every QR code; short, so that the code's modules stay big.
    path("s/<str:number>", find.short, name="short"),
    path("manifest.webmanifest", offline.manifest, name="manifest"),
    path("sw.js", offline.service_worker, name="service-worker"),
    path("offline/", offline.page, name="offline"),
    path("offline/copy/", offline.copy, name="offline-copy"),
    path("offline/entry/", offline.entry, name="offline-entry"),
    path("import/", transfer.choose, name="import-choose"),
    path("import/<slug:name>/", transfer.table, name="import-table"),
    path("given/", given.given, name="given"),
    path("import/<slug:name>/template.csv", transfer.template, name="import-template"),
    path("import/files/<uuid:token>/", transfer.look, name="import-look"),
    path("import/files/<uuid:token>/match/", transfer.match, name="import-match"),
    path("import/files/<uuid:token>/confirm/", transfer.confirm, name="import-confirm"),
    path("import/files/<uuid:token>/undo/", transfer.undo, name="import-undo"),
    path("lots/<str:number>/", lot.detail, name="lot-detail"),
    path("packets/<str:number>/", packet.detail, name="packet-detail"),
]
