"""The grading of paver patios: ground, finish, dig, volumes and checks, and nothing drawn."""

from grading.errors import GradingError
from grading.kept import Kept
from grading.pipeline import FirstWave, Plan, first_wave, plan
from grading.reading.site_file import read_site
from grading.record.plan import record
from grading.site.model import Site

__all__ = [
    "FirstWave",
    "GradingError",
    "Kept",
    "Plan",
    "Site",
    "first_wave",
    "plan",
    "read_site",
    "record",
]
