"""The catalogue's front door: the value, and the ways to come by one."""

from embellish.catalogue.contents import Catalogue, find, merged
from embellish.catalogue.reading import read_catalogue
from embellish.catalogue.shipped import shipped

__all__ = ["Catalogue", "find", "merged", "read_catalogue", "shipped"]
