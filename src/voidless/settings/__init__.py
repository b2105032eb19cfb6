"""
Process settings: as written, checked, resolved.

    rules.py    the one table of rules; violations for scalars and for columns
    resolve.py  defaults, resolve, problems, feasible, derived quantities
"""

from voidless.settings.resolve import default_settings, derived, feasible, problems, resolve

__all__ = ["default_settings", "derived", "feasible", "problems", "resolve"]
