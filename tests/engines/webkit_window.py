#!/usr/bin/python3
"""A window with WebKitGTK in it that may be driven, and a profile on disk: ``FOLDER``.

WebKitGTK's own small browser keeps nothing when it is driven: its profile lives in memory, so that
it can't be killed and opened again. Run by Debian's Python, which has the bindings.
"""

import sys

import gi  # type: ignore[import-not-found]  # only Debian's Python has it

gi.require_version("Gtk", "3.0")
gi.require_version("WebKit2", "4.1")
from gi.repository import Gtk, WebKit2  # type: ignore[import-not-found]  # noqa: E402  # versions first

NAME = "quickcheck-window"  # the driver compares it
PHONE = (390, 780)
# Safari has these; WebKitGTK has them compiled in and turned off.
WANTED = ("StorageAPI", "StorageAPIEstimate")


def settings() -> WebKit2.Settings:
    """Return settings nearer to Safari's."""
    made = WebKit2.Settings()
    features = WebKit2.Settings.get_all_features()
    for feature in (features.get(i) for i in range(features.get_length())):
        if feature.get_identifier() in WANTED:
            made.set_feature_enabled(feature, True)
    return made


def view(context: WebKit2.WebContext) -> WebKit2.WebView:
    """Open a window of a phone's size."""
    page = WebKit2.WebView(
        web_context=context, settings=settings(), is_controlled_by_automation=True
    )
    window = Gtk.Window()
    window.set_default_size(*PHONE)
    window.add(page)
    window.show_all()
    return page


def started(context: WebKit2.WebContext, session: WebKit2.AutomationSession) -> None:
    """Say who this is, and open a window when the driver asks for one."""
    about = WebKit2.ApplicationInfo()
    about.set_name(NAME)
    numbers = ("major", "minor", "micro")
    about.set_version(*(getattr(WebKit2, f"get_{each}_version")() for each in numbers))
    session.set_application_info(about)
    session.connect("create-web-view", lambda _: view(context))


def main(folder: str) -> None:
    """Wait for the driver."""
    data = WebKit2.WebsiteDataManager(
        base_data_directory=f"{folder}/data", base_cache_directory=f"{folder}/cache"
    )
    context = WebKit2.WebContext(website_data_manager=data)
    context.set_automation_allowed(True)
    context.connect("automation-started", started)
    Gtk.main()


if __name__ == "__main__":
    main(next(word for word in sys.argv[1:] if not word.startswith("-")))
