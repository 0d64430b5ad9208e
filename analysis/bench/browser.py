"""The page shown in the browser of the person who started the bench."""

from __future__ import annotations

import webbrowser


def show(address: str) -> None:
    """Open a window of a browser; one that would run inside the terminal is left alone."""
    try:
        browser = webbrowser.get()
    except webbrowser.Error:
        return
    if type(browser) is not webbrowser.GenericBrowser:
        browser.open_new_tab(address)
