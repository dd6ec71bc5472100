"""heatbrief: from thermal pictures to an argued, priced and ordered repair brief."""

__version__ = "0.1.0"
