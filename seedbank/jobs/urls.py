from django.urls import URLPattern, path

from seedbank.jobs import views

urlpatterns: list[URLPattern] = [
    path("jobs/", views.job_list, name="job-list"),
    path("jobs/<int:key>/", views.job_detail, name="job-detail"),
    path("jobs/<int:key>/file/", views.job_file, name="job-file"),
    path("jobs/<int:key>/stop/", views.job_stop, name="job-stop"),
]
