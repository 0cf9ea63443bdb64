"""When a capsule will split: the book's window, sharpened by what was seen."""

from crosses.calc.windows.backtest import Kept, Tried, kept, tried
from crosses.calc.windows.belief import (
    Opening,
    Posterior,
    Window,
    from_window,
    narrowed,
    posterior,
)
from crosses.calc.windows.forecast import (
    RISK_OF_MISSING,
    Disagreement,
    Forecast,
    chance_before,
    disagreement,
    forecast,
    look_again_on,
)
from crosses.calc.windows.pooled import Place, Pool, Record

__all__ = [
    "RISK_OF_MISSING",
    "Disagreement",
    "Forecast",
    "Kept",
    "Opening",
    "Place",
    "Pool",
    "Posterior",
    "Record",
    "Tried",
    "Window",
    "chance_before",
    "disagreement",
    "forecast",
    "from_window",
    "kept",
    "look_again_on",
    "narrowed",
    "posterior",
    "tried",
]
