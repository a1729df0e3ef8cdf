"""MARC 21 bibliographic records, one for each volume."""
