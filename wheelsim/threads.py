"""One BLAS thread while a wheel is worked on: its matrices are small, and on a busy machine threads only wait."""

from collections.abc import Callable
from functools import cache, wraps
from typing import TYPE_CHECKING, ParamSpec, TypeVar

if TYPE_CHECKING:
    from threadpoolctl import ThreadpoolController

P = ParamSpec("P")
R = TypeVar("R")


@cache
def _controller() -> "ThreadpoolController":  # looking for the libraries takes milliseconds, so it is kept
    from threadpoolctl import ThreadpoolController

    return ThreadpoolController()


def one_thread(function: Callable[P, R]) -> Callable[P, R]:
    """The function with numpy's BLAS held to one thread while it runs; the caller's own setting comes back after."""

    @wraps(function)
    def held(*args: P.args, **kwargs: P.kwargs) -> R:
        with _controller().limit(limits=1, user_api="blas"):
            return function(*args, **kwargs)

    return held
