"""Tables for people: CSV, its description for programs, and a workbook; one row for each entry."""
