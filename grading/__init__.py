"""The grading of paver patios: ground, finish, dig, volumes and checks, and nothing drawn."""

from grading.errors import GradingError
from grading.pipeline import Plan, plan
from grading.reading.site_file import read_site
from grading.record.plan import record
from grading.site.model import Site

__all__ = ["GradingError", "Plan", "Site", "plan", "read_site", "record"]
