from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from crosses.base.clock import today
from crosses.queries.backtest import backtest_of_day


def forecast_kept(request: HttpRequest) -> HttpResponse:
    """For the curious: how often capsules opened within the days that were said."""
    return render(request, "crosses/forecast.html", {"found": backtest_of_day(today())})
