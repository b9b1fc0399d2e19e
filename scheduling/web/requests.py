"""The request as a guarded view gets it."""

from deploy.kit.persons_request import PersonsRequest

__all__ = ["PersonsRequest"]
