"""Recogniser models: what is on this machine, whether it is whole, and how to fetch one."""
