"""The linear and whole-number solver that engines share (layer: below the engines).

The one module that runs `highspy`; it is loaded only when a cut list or a packing needs it.
"""

from __future__ import annotations

from time import monotonic
from typing import Final

import highspy  # noqa: TID253 - this module itself is imported only when it is needed

INFINITY: Final = highspy.kHighsInf

TICK_S = 0.05
"""How often a running solver is looked at, so that Ctrl-C works [s]."""


class QuietModel(highspy.Highs):
    """A model that prints nothing, not even the banner that comes with its first call."""

    def enableCallbacks(self) -> None:  # noqa: N802 - highspy's name; its constructor calls it
        """Silence the model, then go on."""
        self.silent()
        super().enableCallbacks()  # type: ignore[no-untyped-call]  # highspy leaves it bare


def quiet_model() -> QuietModel:
    """Return an empty model that prints nothing."""
    return QuietModel()  # type: ignore[no-untyped-call]  # highspy leaves it bare


def run_interruptibly(model: highspy.Highs, seconds: float) -> None:
    """Run a model in a thread of its own; time or Ctrl-C stops it, and the latter is passed on.

    Parameters
    ----------
    model
        The model; what it has found is read from it afterwards.
    seconds
        Time allowed [s].
    """
    model.setOptionValue("time_limit", float(seconds))
    model.HandleUserInterrupt = True
    model.startSolve()
    stop = monotonic() + seconds
    try:
        while not model.wait(TICK_S)[0]:
            if monotonic() > stop:
                model.cancelSolve()  # type: ignore[no-untyped-call]  # highspy leaves it bare
    except KeyboardInterrupt:
        model.cancelSolve()  # type: ignore[no-untyped-call]  # highspy leaves it bare
        model.wait()
        raise
