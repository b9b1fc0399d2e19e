"""The API's own description: the OpenAPI schema, and a page on which a person can try it."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView

from deploy.kit.api import DoorView
from deploy.kit.doors import SIGNED_IN


class Schema(DoorView, SpectacularAPIView):
    door = SIGNED_IN
    renderer_classes = SpectacularAPIView.renderer_classes


@extend_schema(exclude=True)
class Docs(DoorView, SpectacularSwaggerSplitView):
    """Its script comes by an address of its own (`?script`): nothing inline."""

    door = SIGNED_IN
    renderer_classes = SpectacularSwaggerSplitView.renderer_classes
    url_name = "api_schema"
    template_name = "scheduling/api_docs.html"
    title = "Muster API"
