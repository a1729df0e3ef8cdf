"""A bag (RFC 8493): a log, its exports and its sound, every file with its checksum."""
