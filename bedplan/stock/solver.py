"""The linear and whole-number solver (layer: engines, stock).

The one module that touches `highspy`; it is loaded only when a cut list needs it.
"""

from __future__ import annotations

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


def run_interruptibly(model: highspy.Highs) -> None:
    """Run a model in a thread of its own, so that Ctrl-C stops it and is passed on."""
    model.HandleUserInterrupt = True
    model.startSolve()
    try:
        while not model.wait(TICK_S)[0]:
            pass
    except KeyboardInterrupt:
        model.cancelSolve()  # type: ignore[no-untyped-call]  # highspy leaves it bare
        model.wait()
        raise
