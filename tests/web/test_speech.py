"""The app answers in the language of its settings, each request in its own."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool

from gaugewright.report import display, words, words_de, words_en
from gaugewright.report.language import spoken
from gaugewright.web.settings import Settings
from gaugewright.web.speech import Speech


def app_in(folder: Path, language: str, heard: list[tuple[str, str]]) -> Speech:
    """An app that says what it hears spoken, before and after it lets others have a turn."""
    path = folder / f"{language}.toml"
    path.write_text(f'language = "{language}"\n', encoding="utf-8")

    async def answer(scope: Any, receive: Any, send: Any) -> None:
        for _ in range(3):
            heard.append((language, words.HANDOVER))
            heard.append((language, await run_in_threadpool(lambda: words.HANDOVER)))
            await asyncio.sleep(0)

    return Speech(answer, Settings(path))


def test_requests_side_by_side_do_not_hear_each_other(tmp_path: Path) -> None:
    heard: list[tuple[str, str]] = []
    apps = [app_in(tmp_path, language, heard) for language in ("de", "en", "de")]

    async def all_at_once() -> None:
        await asyncio.gather(*(app({}, None, None) for app in apps))  # type: ignore[arg-type]
        assert spoken() == "en"

    with ThreadPoolExecutor(1) as pool:  # a browser's loop may run in this thread already
        pool.submit(lambda: asyncio.run(all_at_once())).result()
    title = {"de": words_de.HANDOVER, "en": words_en.HANDOVER}
    assert {said for language, said in heard if said != title[language]} == set()
    assert len(heard) == 18


def test_the_preferences_name_the_language_of_the_settings(tmp_path: Path) -> None:
    import datetime as dt

    path = tmp_path / "settings.toml"
    path.write_text('language = "de"\n', encoding="utf-8")
    settings = Settings(path)
    assert settings.preferences(dt.date(2031, 3, 5)).language == "de"
    settings.change("language", "en")
    assert settings.preferences(dt.date(2031, 3, 5)).language == "en"
    assert display.digits(1.5, 1) == "1.5"
