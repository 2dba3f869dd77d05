"""The grading of paver patios: ground, finish, dig, volumes and checks, and nothing drawn.

What it gives is named in `__init__.pyi`, and loaded when it is asked for (SPEC 1 of Scientific
Python): who only reads a site does not wait for what plans it.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
