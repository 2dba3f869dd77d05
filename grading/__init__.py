"""The grading of paver patios: ground, finish, dig, volumes and checks, and nothing drawn."""

from grading.errors import GradingError
from grading.pipeline import Plan, plan
from grading.record import record
from grading.site import Site
from grading.sitefile import read_site

__all__ = ["GradingError", "Plan", "Site", "plan", "read_site", "record"]
