"""What leaves the program in open formats: models, drawings, surfaces and tables of a plan."""

from viz.export.formats import FORMATS, chosen_formats, export

__all__ = ["FORMATS", "chosen_formats", "export"]
