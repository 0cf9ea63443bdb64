from django.http import HttpRequest, HttpResponse

from crosses.base.clock import today
from crosses.base.pages import show
from crosses.queries.backtest import backtest_of_day


def forecast_kept(request: HttpRequest) -> HttpResponse:
    """For the curious: how often capsules opened within the days that were said."""
    return show(request, "crosses/forecast.html", {"found": backtest_of_day(today())})
