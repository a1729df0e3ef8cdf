"""Recogniser models: what is on this machine, whether it is whole, and how to fetch one."""

from voicelog.recognition.models.fetching import FetchOptions, fetch_model
from voicelog.recognition.models.installed import (
    InstalledModel,
    find_embedded_model,
    find_models,
    model_folders,
)
from voicelog.recognition.models.published import PublishedModel, load_published

__all__ = [
    "FetchOptions",
    "InstalledModel",
    "PublishedModel",
    "fetch_model",
    "find_embedded_model",
    "find_models",
    "load_published",
    "model_folders",
]
