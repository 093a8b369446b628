"""Not written yet."""

from starlette.routing import Route

ROUTES: tuple[Route, ...] = ()
