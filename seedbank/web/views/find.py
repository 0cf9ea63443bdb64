from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render


def find(request: HttpRequest) -> HttpResponse:
    return render(request, "web/home.html")


def short(request: HttpRequest, number: str) -> HttpResponse:
    return redirect("home")
