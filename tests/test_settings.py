"""Settings come from four places, and what is wrong is named."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from voicelog.errors import SettingsError
from voicelog.settings import _Form, read_settings, setting_names

SHIPPED = Path(__file__).parents[1] / "voicelog" / "default_settings.toml"


def settings_file(tmp_path: Path, text: str) -> dict[str, str]:
    file = tmp_path / "settings.toml"
    file.write_text(text, encoding="utf-8")
    return {"VOICELOG_SETTINGS": str(file)}


def test_the_shipped_file_lists_every_setting_with_its_true_default() -> None:
    """The documentation and the code can't drift apart."""
    shipped = tomllib.loads(SHIPPED.read_text(encoding="utf-8"))
    assert tuple(shipped) == setting_names() == tuple(_Form.model_fields)
    assert shipped == _Form().model_dump()


def test_a_later_place_wins(tmp_path: Path) -> None:
    """Shipped < file < variable < command line."""
    environment = settings_file(tmp_path, 'default_unit = "cm"\npause_ms = 900\nhandler = "Ida"')
    assert read_settings(environment={}).default_unit == "inch"
    settings = read_settings(environment=environment)
    assert (settings.default_unit, settings.pause_ms, settings.handler) == ("cm", 900, "Ida")
    environment |= {"VOICELOG_DEFAULT_UNIT": "mm", "VOICELOG_PAUSE_MS": "1200"}
    settings = read_settings(environment=environment)
    assert (settings.default_unit, settings.pause_ms) == ("mm", 1200)
    settings = read_settings(environment=environment, overrides={"pause_ms": 500, "handler": None})
    assert (settings.pause_ms, settings.handler) == (500, "Ida")


def test_the_usual_file_is_found(tmp_path: Path) -> None:
    """$XDG_CONFIG_HOME/voicelog/settings.toml needs no variable."""
    (tmp_path / "voicelog").mkdir()
    (tmp_path / "voicelog" / "settings.toml").write_text("day_first = true")
    assert read_settings(environment={"XDG_CONFIG_HOME": str(tmp_path)}).day_first


def test_paths_in_a_file_are_meant_from_the_file(tmp_path: Path) -> None:
    """A shared folder can hold the settings and the term files together."""
    environment = settings_file(tmp_path, 'vocabulary_files = ["ours.toml"]\nmodel_folder = "m"')
    settings = read_settings(environment=environment)
    assert settings.vocabulary_files == (tmp_path / "ours.toml",)
    assert settings.model_folder == tmp_path / "m"


def test_lists_in_variables() -> None:
    """One value as it is, several as in TOML."""
    one = read_settings(environment={"VOICELOG_ACCESSION_PATTERNS": r"\d{4}-\d{3}"})
    assert one.accession_patterns == (r"\d{4}-\d{3}",)
    two = read_settings(environment={"VOICELOG_KNOWN_ACCESSIONS": '["2031-007", "2031-008"]'})
    assert two.known_accessions == ("2031-007", "2031-008")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("pauze_ms = 700", r"settings.toml, 'pauze_ms' is not a setting; did you mean 'pause_ms'"),
        ("pause_ms = 7", r"settings.toml, pause_ms = 7: should be greater than or equal to 200"),
        ('day_first = "yes"', r"day_first = 'yes': should be boolean"),
        ('default_unit = "ell"', r"default_unit = 'ell': should be 'inch', 'cm' or 'mm'"),
        ('accession_patterns = ["("]', r"accession_patterns = '\(': '\(' is not a regular expr"),
        ("pause_ms = ", r"is not valid TOML: .*correct that line"),
        ("default_century = 1950", r"default_century = 1950: should be a multiple of 100"),
    ],
)
def test_a_wrong_line_is_named_with_its_remedy(tmp_path: Path, text: str, sentence: str) -> None:
    """File, key, and what to write instead, in one sentence."""
    with pytest.raises(SettingsError, match=sentence) as caught:
        read_settings(environment=settings_file(tmp_path, text))
    assert "\n" not in str(caught.value)


def test_wrong_variables_are_named() -> None:
    """A misspelt variable is not silently passed over."""
    with pytest.raises(SettingsError, match=r"variable VOICELOG_HANDLR, 'handlr' is not a setting"):
        read_settings(environment={"VOICELOG_HANDLR": "Ida"})
    with pytest.raises(SettingsError, match=r"variable VOICELOG_PAUSE_MS, pause_ms = 'long'"):
        read_settings(environment={"VOICELOG_PAUSE_MS": "long"})
    with pytest.raises(SettingsError, match=r"VOICELOG_SETTINGS names /nowhere/at/all"):
        read_settings(environment={"VOICELOG_SETTINGS": "/nowhere/at/all"})


def test_files_that_are_not_text_are_named(tmp_path: Path) -> None:
    """Bytes that aren't UTF-8 are no settings."""
    file = tmp_path / "settings.toml"
    file.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(SettingsError, match="not UTF-8 text"):
        read_settings(environment={"VOICELOG_SETTINGS": str(file)})
