"""What can still be read of a damaged log, read page by page and put into a new one."""
