"""Paper that goes into the box: labels, slips, lists, and pages to try a printer with.

Everything is drawn with reportlab, in fonts that are embedded, and comes out the same for
the same log: no date of printing, no random names.
"""
