"""From a filmed walk of an obstacle course to one set of rules that everybody applies the same way."""

__version__ = "0.1.0"
