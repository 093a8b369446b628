"""Style, script and mark."""

from http import HTTPStatus

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from riskmodel.web.assets import by_address


async def asset(request: Request) -> Response:
    """One asset; its address changes with its content, so it may be kept."""
    held = by_address().get(request.url.path)
    if held is None:
        raise HTTPException(HTTPStatus.NOT_FOUND)
    return Response(held.content, media_type=held.media_type, headers={"cache-control": "max-age=31536000, immutable"})


ROUTES = (Route("/static/{digest}/{name}", asset, methods=["GET"]),)
